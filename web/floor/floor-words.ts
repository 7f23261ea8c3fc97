/** Figures, spans and kinds as the floor says them, in the person's language and the cellar's units. */
import type { ReadingKind, TroubleKind } from '../../api/protocol/facts.ts'
import type { PersonWire, ReadingWire, TaskWire, VesselWire } from '../../api/wire.ts'
import type { Format } from '../format.ts'
import { sayReading } from '../readings.ts'
import { problemWords } from '../words/problems.ts'
import type { Word } from '../words/types.ts'
import { say, tongue } from '../words/words.ts'

/** `1 h 30 min`, `45 min`, `3 days`. */
export function lasting(min: number): string {
  const whole = Math.round(Math.abs(min))
  if (whole < 60) return say('minutes', { n: whole })
  if (whole < 48 * 60) {
    const rest = whole % 60
    const hours = say('hours', { n: Math.floor(whole / 60) })
    return rest === 0 ? hours : `${hours} ${say('minutes', { n: rest })}`
  }
  return say('days', { n: Math.round(whole / 1440) })
}

export const countOf = (n: number): string => (n === 1 ? say('oneTask') : say('manyTasks', { n }))

const STATE: Readonly<Record<TaskWire['state'], Word>> = {
  planned: 'planned',
  due: 'due',
  underway: 'underway',
  done: 'done',
  skipped: 'leftOut',
  cancelled: 'cancelled',
  blocked: 'blocked',
}
export const stateWord = (task: Pick<TaskWire, 'state'>): string => say(STATE[task.state])

const FAMILY: Readonly<Record<TaskWire['family'], Word>> = {
  juice: 'familyJuice',
  ferment: 'familyFerment',
  check: 'familyCheck',
  move: 'familyMove',
  lees: 'familyLees',
  protect: 'familyProtect',
}
export const familyWord = (family: TaskWire['family']): string => say(FAMILY[family])

const READING: Readonly<Record<ReadingKind, Word>> = {
  brix: 'readSugar',
  density: 'readDensity',
  sugar: 'readSugar',
  temp: 'readTemp',
  pH: 'readPH',
  ta: 'readAcid',
  malic: 'readMalic',
  yan: 'readNitrogen',
  'free-so2': 'readFreeSo2',
  'total-so2': 'readTotalSo2',
  ntu: 'readTurbidity',
  va: 'readVolatile',
  alcohol: 'readAlcohol',
  rot: 'readRot',
  volume: 'readVolume',
  headspace: 'readHeadspace',
  'co2-air': 'readCo2Air',
  oxygen: 'readOxygen',
  smell: 'readSmell',
  conductivity: 'readConductivity',
  'protein-haze': 'readHaze',
  humidity: 'readHumidity',
  'lees-share': 'readLees',
  'glucose-fructose': 'readGlucoseFructose',
  copper: 'readCopper',
}
/** A hydrometer in Oechsle or Baume is asked for as sugar, whatever kind it is stored as. */
export const readingWord = (kind: ReadingKind, format: Format): string =>
  kind === 'density' && (format.sugarUnit === 'oechsle' || format.sugarUnit === 'baume')
    ? say('readSugar')
    : say(READING[kind])

/** `CO2 in the air 600 ppm`. */
export const inWords = (reading: Pick<ReadingWire, 'kind' | 'value'>, format: Format): string =>
  `${readingWord(reading.kind, format)} ${sayReading(reading, format)}`

const TROUBLE: Readonly<Record<TroubleKind, Word>> = {
  smell: 'troubleSmell',
  hot: 'troubleHot',
  foam: 'troubleFoam',
  spill: 'troubleSpill',
  leak: 'troubleLeak',
  slow: 'troubleSlow',
  vinegar: 'troubleVinegar',
  malolactic: 'troubleMalolactic',
  started: 'troubleStarted',
  cloudy: 'troubleCloudy',
  machine: 'troubleMachine',
  other: 'troubleOther',
}
export const TROUBLES = Object.keys(TROUBLE) as readonly TroubleKind[]
export const troubleWord = (kind: TroubleKind): string => say(TROUBLE[kind])

const VESSEL: Readonly<Record<VesselWire['kind'], Word>> = {
  tank: 'vesselTank',
  'cold-tank': 'vesselColdTank',
  'floating-lid': 'vesselFloatingLid',
  'pressure-tank': 'vesselPressure',
  'open-tank': 'vesselOpen',
  concrete: 'vesselConcrete',
  amphora: 'vesselAmphora',
  cask: 'vesselCask',
  barrel: 'vesselBarrel',
  puncheon: 'vesselPuncheon',
  keg: 'vesselKeg',
}
export const vesselWord = (kind: VesselWire['kind']): string => say(VESSEL[kind])

const VESSEL_STATE: Readonly<Record<VesselWire['state'], Word>> = {
  dirty: 'vesselDirty',
  clean: 'vesselClean',
  sanitised: 'vesselSanitised',
  sulphured: 'vesselSulphured',
  full: 'vesselFull',
  'out-of-service': 'vesselOut',
}
export const vesselStateWord = (state: VesselWire['state']): string => say(VESSEL_STATE[state])

/** `row A` or a kind of vessel, as a place to go to. */
export const placeWord = (place: string): string =>
  place.startsWith('row ') ? say('row', { name: place.slice(4) }) : vesselWord(place as VesselWire['kind'])

export const namesOf = (ids: readonly string[], people: ReadonlyMap<string, Pick<PersonWire, 'name'>>): string =>
  ids.map((id) => people.get(id)?.name ?? id).join(', ')

/** What the server says became of something noted; it says more in English than the catalogues know. */
export const fateWords = (fate: { readonly words: string; readonly reason: string }): string =>
  tongue() === 'en' ? fate.words : problemWords({ type: fate.reason, title: fate.words })

const DID: readonly (readonly [english: string, word: Word])[] = [
  ['told it done', 'didDone'],
  ['left it out', 'didSkip'],
  ['pinned it', 'didPin'],
  ['gave it to others', 'didAssign'],
  ['let it go', 'didUnpin'],
  ['began it', 'didStart'],
  ['told of it', 'didTell'],
]

/** `Robin left it out`, as the server says it, in the person's language. */
export function theirsWords(words: string): string {
  const did = DID.find(([english]) => words.endsWith(` ${english}`))
  return did ? say(did[1], { name: words.slice(0, -did[0].length - 1) }) : words
}

/** What speaks against a reading: three kinds of sentence, told again in the person's language. */
export function doubtWords(words: string, kind: ReadingKind, format: Format): string {
  const what = readingWord(kind, format)
  const unusual = /is unusual.*?, (\S+) to (\S+)/.exec(words)
  if (unusual) return say('doubtUnusual', { what, low: unusual[1] ?? '', high: unusual[2] ?? '' })
  const jump = /jumps (\S+).*? in (\S+) h/.exec(words)
  if (jump) return say('doubtJump', { what, by: jump[1] ?? '', hours: jump[2] ?? '' })
  const cannot = /cannot be: expected (\S+) to (\S+)/.exec(words)
  return cannot ? say('doubtCannot', { what, low: cannot[1] ?? '', high: cannot[2] ?? '' }) : words
}
