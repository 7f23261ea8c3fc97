/** The facts a plan is a function of. Plain readonly records; moments are instants, days are plain dates. */
import type { Temporal } from '../time.ts'
import type { Choices } from './choices.ts'

export const ROLES = ['owner', 'winemaker', 'hand', 'lab', 'viewer'] as const
export type Role = (typeof ROLES)[number]

/** Set per cellar; defaults are common practice and every cellar must set its own. */
export interface Rates {
  readonly receptionTPerH: number
  readonly sortingTPerH: number
  readonly pressLoadingTPerH: number
  readonly floatLPerH: number
  readonly chillKW: number
  readonly heatKW: number
}

/** A place of the cellar away from its main one: another yard, a barrel hall across the valley. */
export interface Site {
  readonly name: string
  /** Minutes from the cellar itself, and back. */
  readonly awayMin: number
  /** Minutes to other sites by their name. Absent: over the cellar. */
  readonly to?: Readonly<Record<string, number>>
}

export interface Cellar {
  readonly id: string
  readonly name: string
  readonly hemisphere: 'north' | 'south'
  readonly vintage: number
  /** IANA time zone. Belongs to the cellar, never to server or browser. */
  readonly zone: string
  readonly units: 'metric' | 'us'
  readonly sugarUnit: 'brix' | 'density' | 'oechsle' | 'baume' | 'kmw'
  readonly language: string
  readonly rates: Rates
  /** Only rounds and safety work on these days. */
  readonly holidays: readonly {
    readonly on: Temporal.PlainDate
    readonly name: string
  }[]
  /** Absent or empty: everything stands at one site. */
  readonly sites?: readonly Site[]
  /** Work of so many weeks from today is planned to the minute and by name, later work to the day. Absent: all to the minute. */
  readonly exactWeeks?: number
}

/** Eight weeks: as far as shifts and holidays are usually settled. Common practice; every cellar may set its own. */
export const EXACT_WEEKS = { usual: 8, least: 2, most: 52 } as const

/** Working hours of a person: one rule for some weekdays over some span. The last rule that fits a day decides. */
export interface ShiftRule {
  /** ISO weekdays, Monday 1 to Sunday 7. Empty: off. */
  readonly weekdays: readonly number[]
  /** Minutes of the local day. */
  readonly startMin: number
  readonly endMin: number
  readonly fromOn?: Temporal.PlainDate
  readonly untilOn?: Temporal.PlainDate
}

export interface Person {
  readonly id: string
  readonly name: string
  readonly role: Role
  /** What they do, in the cellar's words: `cellar lead`. */
  readonly post: string
  readonly skills: readonly string[]
  readonly language: string
  readonly shifts: readonly ShiftRule[]
  readonly fromOn?: Temporal.PlainDate
  readonly untilOn?: Temporal.PlainDate
  readonly absences: readonly Absence[]
}

export interface Absence {
  readonly id: string
  readonly fromAt: Temporal.Instant
  readonly toAt: Temporal.Instant
  readonly reason: string
}

export const VESSEL_KINDS = [
  'tank',
  'cold-tank',
  'floating-lid',
  'pressure-tank',
  'open-tank',
  'concrete',
  'amphora',
  'cask',
  'barrel',
  'puncheon',
  'keg',
] as const
export type VesselKind = (typeof VESSEL_KINDS)[number]

export const VESSEL_STATES = ['dirty', 'clean', 'sanitised', 'sulphured', 'full', 'out-of-service'] as const
export type VesselState = (typeof VESSEL_STATES)[number]

export interface Vessel {
  readonly id: string
  /** Painted on the vessel: T01, A4. */
  readonly code: string
  readonly kind: VesselKind
  readonly volumeL: number
  readonly jacket: boolean
  readonly insulated: boolean
  readonly minC?: number
  readonly pressureBar: number
  /** Barrels: the row they lie in and how many wines they have held. */
  readonly row?: string
  readonly fills?: number
  /** Name of a site of the cellar. Absent: the cellar itself. */
  readonly site?: string
  readonly state: VesselState
  /** Fixed bookings that belong to no planned lot. */
  readonly bookings: readonly Booking[]
}

export interface Booking {
  readonly fromAt: Temporal.Instant
  readonly toAt: Temporal.Instant
  readonly why: string
}

export const MACHINE_KINDS = [
  'press',
  'basket-press',
  'destemmer',
  'pump',
  'flotation-pump',
  'filter',
  'forklift',
  'cold-room',
  'bins',
  'chiller',
  'warm-water',
  'sorting-table',
  'lab',
  'barrel-washer',
  'hot-water',
  'scale',
  'heat-exchanger',
] as const
export type MachineKind = (typeof MACHINE_KINDS)[number]

export interface Machine {
  readonly id: string
  readonly code: string
  readonly kind: MachineKind
  readonly name: string
  /** What it can do: t for a cold room or for all bins together, kW usable for a chiller, L/h for a pump or filter, t/h for a destemmer, 1 else. */
  readonly capacity: number
  /** Presses only. Tonnes by what enters, hours by program, wash and rinse hours. */
  readonly press?: {
    readonly wholeBunchT?: readonly [min: number, max: number]
    readonly destemmedT?: readonly [min: number, max: number]
    readonly fermentedT?: readonly [min: number, max: number]
    readonly programH: Readonly<Record<string, number>>
    readonly washH: number
    readonly rinseH: number
  }
  /** As for a vessel. */
  readonly site?: string
  readonly bookings: readonly Booking[]
}

/** What the block or the scale says. A later reading of the same kind overrides it. */
export interface Fruit {
  readonly tonnes: number
  readonly brix: number
  readonly pH: number
  readonly acidGPerLTartaric: number
  readonly malicGPerL: number
  readonly yanMgPerL: number
  readonly fruitTempC: number
  readonly rotPct: number
  readonly yieldLPerT: number
}

export interface Lot {
  readonly id: string
  /** Short, unique in the cellar: L01. Leads the key of its tasks. */
  readonly code: string
  readonly name: string
  readonly variety: string
  readonly block: string
  readonly place: string
  readonly vintage: number
  readonly pickOn: Temporal.PlainDate
  readonly fruit: Fruit
  readonly choices: Choices
  /** Rises with every change of the choices. */
  readonly choicesVersion: number
  /** Conflicts accepted by a winemaker, with the reason they signed. */
  readonly signed: readonly {
    readonly conflict: string
    readonly reason: string
    readonly personId: string
    readonly at: Temporal.Instant
  }[]
  /** Whose wine it is made of, by share. The plan of the first goes on in this lot. */
  readonly parents: readonly Parent[]
  readonly endedAt?: Temporal.Instant
  /** Wine that was there before anything was planned: it is in the books and has no work of its own. */
  readonly unplanned?: true
  /** Vessel ids fixed by hand or by what has happened, per hold name (`settle`, `ferment`, `store`, `cold`). */
  readonly vesselPins: Readonly<Record<string, readonly string[]>>
}

export interface Parent {
  readonly lotId: string
  /** Share of this lot that came from it when the lot was made, 0 to 1. */
  readonly share: number
  /** When, as ISO text, and this lot's litres over the parent's then. Absent: its plan does not go on here. */
  readonly at?: string
  readonly scale?: number
}

export const READING_KINDS = [
  'brix',
  'density',
  'sugar',
  'temp',
  'pH',
  'ta',
  'malic',
  'yan',
  'free-so2',
  'total-so2',
  'ntu',
  'va',
  'alcohol',
  'rot',
  'volume',
  'headspace',
  'co2-air',
  'oxygen',
  'smell',
  'conductivity',
  'protein-haze',
  'humidity',
  'lees-share',
  'glucose-fructose',
  'copper',
] as const
export type ReadingKind = (typeof READING_KINDS)[number]

/** brix Bx, density kg/m3, sugar and glucose-fructose g/L, temp C, ta g/L tartaric, malic g/L, yan mg/L N, so2 mg/L, va g/L acetic, alcohol % vol, volume L, co2-air ppm. */
export interface Reading {
  readonly id: string
  readonly lotId: string
  readonly vesselId?: string
  readonly kind: ReadingKind
  readonly value: number
  readonly takenAt: Temporal.Instant
  readonly personId?: string
  readonly taskKey?: string
  /** This entry corrects that one. */
  readonly correctsId?: string
  readonly note?: string
}

/** Append-only log of what people did to tasks; the newest of each kind counts, `undo` takes one back. */
export type TaskFactKind =
  | 'start'
  | 'done'
  | 'skip'
  | 'pin'
  | 'unpin'
  | 'assign'
  | 'undo'
  | 'note'
  | 'acknowledge'
  | 'problem'
  | 'caution'

export interface TaskFact {
  readonly id: string
  readonly taskKey: string
  readonly kind: TaskFactKind
  /** When it happened, as told; the row keeps the time it was written too. */
  readonly at: Temporal.Instant
  readonly personId?: string
  /** done: when it began; else the pinned start. */
  readonly startAt?: Temporal.Instant
  readonly people?: readonly string[]
  readonly vessels?: readonly string[]
  readonly reason?: string
  readonly undoesId?: string
}

/** What the floor can be read in. */
export const LANGUAGES = ['en', 'es', 'fr', 'pt', 'it', 'de'] as const
export type Language = (typeof LANGUAGES)[number]

export const TROUBLE_KINDS = [
  'smell',
  'hot',
  'foam',
  'spill',
  'leak',
  'slow',
  'vinegar',
  'malolactic',
  'started',
  'cloudy',
  'machine',
  'other',
] as const
export type TroubleKind = (typeof TROUBLE_KINDS)[number]

/** What somebody saw go wrong; append-only, the network raises work from it. */
export interface Trouble {
  readonly id: string
  readonly kind: TroubleKind
  readonly lotId?: string
  readonly vesselId?: string
  readonly taskKey?: string
  readonly words: string
  readonly personId: string
  readonly at: Temporal.Instant
}

/** What was measured, put in or moved while a task was done. */
export interface Addition {
  readonly id: string
  readonly lotId: string
  readonly vesselId?: string
  readonly product: string
  readonly amount: number
  readonly unit: 'g' | 'kg' | 'mL' | 'L'
  readonly batchNo?: string
  readonly treatedL: number
  readonly addedAt: Temporal.Instant
  readonly personId: string
  readonly taskKey?: string
}

/** Litres measured at a transfer. The newest volume of a lot is what doses stand on. */
export interface Transfer {
  readonly id: string
  readonly lotId: string
  readonly fromVesselId?: string
  readonly toVesselId?: string
  readonly volumeL: number
  readonly lossL: number
  readonly movedAt: Temporal.Instant
  readonly personId?: string
  readonly taskKey?: string
}

export interface Facts {
  readonly cellar: Cellar
  readonly people: readonly Person[]
  readonly vessels: readonly Vessel[]
  readonly machines: readonly Machine[]
  readonly lots: readonly Lot[]
  readonly readings: readonly Reading[]
  readonly taskFacts: readonly TaskFact[]
  readonly additions: readonly Addition[]
  readonly transfers: readonly Transfer[]
  /** Absent: none. */
  readonly troubles?: readonly Trouble[]
  /** What the ledger says is in each vessel now. Absent: nothing is known but what the transfers say. */
  readonly stock?: readonly Stock[]
}

/** Wine of a lot in one vessel, by the ledger. */
export interface Stock {
  readonly lotId: string
  readonly vesselId: string
  readonly volumeL: number
}
