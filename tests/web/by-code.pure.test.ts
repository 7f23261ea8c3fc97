import fc from 'fast-check'
import { expect, it } from 'vitest'
import { byCode } from '../../web/by-code.ts'
import '../helpers/cases.ts'

const sign = fc.constantFrom(...'TtBbKz0123789 .-_/~#'.split(''))
const code = fc.oneof(
  fc.array(sign, { maxLength: 7 }).map((signs) => signs.join('')),
  fc
    .tuple(fc.constantFrom('T', 'B', 'row ', 'K', 't'), fc.integer({ min: 0, max: 130 }))
    .map((parts) => parts.join('')),
  fc.constantFrom('~', 'tank', 'cold-tank', 'T07', 'T7', 'Fût 3', 'fut 3', 'Ä2'),
)

it('codes of vessels stand in the order of the platform’s own numeric comparing', () => {
  fc.assert(
    fc.property(code, code, (a, b) => {
      expect(Math.sign(byCode(a, b))).toBe(Math.sign(a.localeCompare(b, 'en', { numeric: true })))
    }),
    { numRuns: 3_000 },
  )
})
