/**
 * Short cautions, put together per step. Limits: S60 for CO2 and tanks, S61 for SO2; the rest is common practice.
 * They never replace the rules of the place.
 */
export const CO2 =
  'Carbon dioxide: fans on, meter on, ventilate first; above 5,000 ppm stay short and ventilate, above 30,000 ppm leave now.'
export const SPACE =
  'Confined space: no head and no body inside a tank, drum or pit without a permit, an air test, an attendant outside and a way to pull you out. A fan alone is not enough.'
export const SO2 =
  'Sulphur dioxide: mask with acid-gas filter, goggles and gloves; never open the bag over wet must; nobody with asthma; air limit 2 to 5 ppm, leave when it bites.'
export const CAUSTIC =
  'Caustic, acid and peracetic acid burn: gloves, goggles, apron; add to water, never mix, rinse for long.'
export const HOT = 'Hot water and steam scald: gloves, closed hoses, open valves slowly.'
export const LIFT = 'Heavy or awkward load: two people or a lifter; a full keg or an empty barrel weighs 45 to 60 kg.'
export const FORKLIFT = 'Forklift: licensed driver only, people on foot out of its path, horn at the doors.'
export const PRESSURE = 'Under pressure: relief valve free, hoses tied, release the pressure before opening anything.'
export const LOCKOUT = 'Lock out and tag the power before clearing a jam or reaching in.'
export const DUST = 'Dust of powders and filter aids: mask, no fan on the bag.'
export const GAS = 'Nitrogen, argon and carbon dioxide take the place of air without a smell: ventilate, meter on.'
export const FOAM = 'Degassing can throw foam out of the tank: a little at a time, stand beside the lid, not over it.'
export const FALL = 'Height: ladder held, rails and lids closed, roof walkways only.'
export const BENCH = 'Reagents: goggles and gloves, pipette with a bulb, know where the eye wash is.'

const LOCAL = 'Local safety rules and the site’s own procedures come first.'

export const caution = (...parts: readonly string[]): string => [...parts, LOCAL].join(' ')
