import { describe, expect, it } from 'vitest'
import { doseLine } from '../../api/feed/dose.ts'

const dose = (amount: number, unit: 'g' | 'kg' | 'mL' | 'L') => ({
  product: 'bentonite',
  amount,
  unit,
  volumeL: 5620,
  arithmetic: '70 g/hL x 5,620 L',
  basis: 'common practice',
})

describe('a dose in a calendar', () => {
  // NIST Special Publication 811, appendix B: 1 lb = 453.59237 g, 1 oz = 28.349523 g, 1 gal = 3.785412 L, 1 fl oz = 29.57353 mL.
  it.each([
    [dose(3.9, 'kg'), '8.6 lb'],
    [dose(270, 'g'), '9.52 oz'],
    [dose(92, 'mL'), '3.11 fl oz'],
    [dose(45, 'L'), '11.9 gal'],
  ])('of a cellar that counts in US units', (given, us) => {
    expect(doseLine(given, 'us')).toBe(`bentonite ${us}: 70 g/hL x 5,620 L (common practice)`)
  })

  it('of a metric cellar is as it was weighed', () => {
    expect(doseLine(dose(270, 'g'), 'metric')).toBe('bentonite 270 g: 70 g/hL x 5,620 L (common practice)')
  })
})
