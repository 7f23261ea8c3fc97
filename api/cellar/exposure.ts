import { notNegative } from './guard.ts'

/** Air limits of people at work, each with its document. `memory`: recalled, not read; verify before it becomes a rule. */
export interface ExposureLimit {
  readonly id: string
  readonly substance: 'CO2' | 'SO2' | 'O2'
  readonly value: number
  readonly unit: 'ppm' | '% vol'
  readonly kind: '8 h' | '15 min' | 'ceiling' | 'immediately dangerous' | 'least' | 'most'
  readonly source: string
  readonly memory: boolean
}

export const EXPOSURE_LIMITS: readonly ExposureLimit[] = [
  limit('co2-osha', 'CO2', 5000, 'ppm', '8 h', 'OSHA PEL; NIOSH 124-38-9 IDLH documentation (mirror)'),
  limit('co2-niosh-st', 'CO2', 30_000, 'ppm', '15 min', 'NIOSH REL, ACGIH; NIOSH 124-38-9 (mirror)'),
  limit('co2-idlh', 'CO2', 40_000, 'ppm', 'immediately dangerous', 'NIOSH 1994 (was 50 000), as quoted'),
  limit('co2-uk', 'CO2', 5000, 'ppm', '8 h', 'EH40/2005, as quoted'),
  limit('co2-uk-st', 'CO2', 15_000, 'ppm', '15 min', 'EH40/2005, as quoted'),
  limit('so2-osha', 'SO2', 5, 'ppm', '8 h', 'OSHA PEL; NIOSH 7446-09-5 IDLH documentation (mirror)'),
  limit('so2-niosh', 'SO2', 2, 'ppm', '8 h', 'NIOSH REL, 7446-09-5 (mirror)'),
  limit('so2-niosh-st', 'SO2', 5, 'ppm', '15 min', 'NIOSH REL, 7446-09-5 (mirror)'),
  limit('so2-idlh', 'SO2', 100, 'ppm', 'immediately dangerous', 'NIOSH 7446-09-5 (mirror)'),
  limit('so2-acgih', 'SO2', 0.25, 'ppm', '15 min', 'ACGIH TLV; sources disagree on 15 min or 8 h', true),
  limit('so2-eu', 'SO2', 0.5, 'ppm', '8 h', 'Directive (EU) 2017/164', true),
  limit('so2-eu-st', 'SO2', 1, 'ppm', '15 min', 'Directive (EU) 2017/164', true),
  limit('o2-low', 'O2', 19.5, '% vol', 'least', '29 CFR 1910.146(b), as quoted'),
  limit('o2-high', 'O2', 23.5, '% vol', 'most', '29 CFR 1910.146(b), as quoted'),
]

export const limitOf = (id: string): ExposureLimit => {
  const found = EXPOSURE_LIMITS.find((l) => l.id === id)
  if (!found) throw new RangeError(`limit is ${id}, expected one of ${EXPOSURE_LIMITS.map((l) => l.id).join(', ')}`)
  return found
}

export interface AirAdvice {
  readonly level: 'good' | 'short' | 'leave'
  readonly words: string
}

/** What to do at a CO2 reading. Tanks and pits need a permit whatever the figure (29 CFR 1910.146). */
export function airAdvice(co2Ppm: number): AirAdvice {
  notNegative('co2Ppm', co2Ppm, 'ppm')
  if (co2Ppm > 30_000) return { level: 'leave', words: 'Leave now, let no one in, ventilate, measure from outside.' }
  if (co2Ppm > 5000) return { level: 'short', words: 'Stay short, ventilate, measure again before work goes on.' }
  return { level: 'good', words: 'Under 5000 ppm, the 8 h limit. Keep measuring where air lies low.' }
}

/** Lifting: 23 kg load constant of the NIOSH equation (94-110), for the best posture; a full 225 L barrel weighs about 270 kg. */
export const LIFT_CONSTANT_KG = 23

function limit(
  id: string,
  substance: ExposureLimit['substance'],
  value: number,
  unit: ExposureLimit['unit'],
  kind: ExposureLimit['kind'],
  source: string,
  memory = false,
): ExposureLimit {
  return { id, substance, value, unit, kind, source, memory }
}
