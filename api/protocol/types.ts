/** Step kinds, conflicts, doses and what a planned task looks like, before it has a row or a screen. */
import type { Temporal } from '../time.ts'
import type { Choices } from './choices.ts'
import type { Fruit, ReadingKind } from './facts.ts'

/** Six families, told apart by outline alone. */
export const FAMILIES = ['juice', 'ferment', 'check', 'move', 'lees', 'protect'] as const
export type Family = (typeof FAMILIES)[number]

/** Where a number or rule comes from. */
export interface Basis {
  readonly kind: 'source' | 'common-practice' | 'memory'
  /** Ids of the reference list, S1 to S75. */
  readonly refs?: readonly string[]
  /** Which part of it the sources cover. */
  readonly note?: string
}

/** What the duration formulas stand on. Units in the names. */
export interface StepSizes {
  readonly tonnes: number
  readonly volumeL: number
  readonly leesL: number
  readonly barrels: number
  readonly newBarrels: number
  readonly vessels: number
  readonly samples: number
  readonly receptionTPerH: number
  readonly sortingTPerH: number
  readonly pressLoadingTPerH: number
  readonly pressProgramH: number
  readonly pressWashH: number
  readonly pumpLPerH: number
  readonly floatLPerH: number
  readonly filterLPerH: number
  readonly deltaC: number
  readonly chillKW: number
  readonly heatKW: number
  readonly skinContactH: number
  readonly settleH: number
  readonly sugarGPerLPerDay: number
}

export interface StepLink {
  readonly prev: string
  readonly from: 'start' | 'end'
  readonly minH: number
  readonly maxH?: number
  readonly strength: 'hard' | 'soft' | 'alt'
  readonly note?: string
  /** Absent: the same lot. `vessel`: the last such work on the vessel. `machine`: the previous use of the machine. */
  readonly scope?: 'vessel' | 'machine'
}

/** A kind of work. One of the 92 of the catalogue. */
export interface Step {
  readonly id: string
  readonly nr: number
  readonly stage:
    | 'fruit'
    | 'pressing'
    | 'additions'
    | 'fermentation'
    | 'malolactic'
    | 'maturation'
    | 'finishing'
    | 'lab'
    | 'vessels'
    | 'house'
    | 'safety'
    | 'records'
  readonly family: Family
  readonly names: {
    readonly en: string
    readonly fr: string
    readonly es: string
  }
  readonly trigger: string
  readonly after: readonly StepLink[]
  /** Person-hours in all. */
  readonly labourH: (s: StepSizes) => number
  readonly elapsedH: (s: StepSizes) => number
  readonly crew: number
  /** Skills that somebody in the crew must have. */
  readonly skills: readonly string[]
  /** Whoever has one of these goes first; nobody is shut out. */
  readonly prefers?: readonly string[]
  /** Machine kinds and amounts held while it runs. */
  readonly machines: readonly {
    readonly kind: string
    readonly amount: (s: StepSizes) => number
  }[]
  /** Minutes of the local day in which it may start; several windows allowed; absent: any time of a shift. */
  readonly startWindows?: readonly (readonly [fromMin: number, toMin: number])[]
  /** ISO weekdays it prefers. Absent: any. */
  readonly weekdays?: readonly number[]
  /** Goes on over closed days: rounds, safety, streams of fruit. */
  readonly onHolidays: boolean
  /** Words of the repeat rule; the network computes from it. */
  readonly repeats: string
  readonly records: readonly ReadingKind[]
  /** Everything to write down, in the catalogue's words. */
  readonly writeDown: readonly string[]
  readonly doses: readonly string[]
  readonly alarms: readonly string[]
  readonly skippable: 'no' | 'yes' | 'with-reason'
  readonly skipNote: string
  readonly interruptible: boolean
  /** Where it may stop, or why not. */
  readonly interruptNote?: string
  /** Shown before the start button; empty where nothing can hurt. */
  readonly caution: string
  readonly materials: readonly string[]
  readonly movesVolume: boolean
  readonly countsAsAddition: boolean
  readonly basis: Basis
}

export type ConflictLevel = 'block' | 'warn' | 'info'

/** What a conflict is tested against; unknown values are absent and test false. */
export interface ConflictContext {
  readonly choices: Choices
  readonly fruit: Fruit
  readonly volumeL: number
  readonly latest: Partial<Record<ReadingKind, number>>
  readonly chillerFreeKW?: number
  readonly filterInCellar?: boolean
  readonly mustChillerInCellar?: boolean
  readonly coldRoomInCellar?: boolean
  readonly potentialAlcoholPctVol?: number
  readonly malolacticDone?: boolean
  readonly vaRising?: boolean
  readonly ascorbicUsed?: boolean
  readonly bentoniteAfterAdditive?: boolean
  readonly sorbicUsed?: boolean
  /** Where the lot is now, so that a reading is read as what it was of. Absent: told from the readings. */
  readonly phase?: 'fruit' | 'juice' | 'ferment' | 'wine'
  /** Pectin given its hours to break before flotation. */
  readonly enzymeWaited?: boolean
  /** The barrel room's temperature while barrels ferment. */
  readonly barrelRoomC?: number
  /** Age of the wood the lot rests in. */
  readonly barrelYears?: number
  readonly concretePlate?: boolean
  readonly mixerInCellar?: boolean
  /** The wine is meant to show thiols. Absent: true of the crisp style. */
  readonly thiolGoal?: boolean
  /** Shipped far or kept long after filling. Absent: assumed for bottled wine. */
  readonly marketLong?: boolean
  /** Filled by the planner: sums over lots. */
  readonly day?: {
    readonly coolingShare?: number
    readonly pressShare?: number
    readonly vesselShortL?: number
  }
  readonly composition?: {
    readonly variety?: number
    readonly vintage?: number
    readonly place?: number
  }
  readonly shareLimit?: number
}

export interface ConflictRule {
  readonly id: string
  readonly level: ConflictLevel
  readonly test: (c: ConflictContext) => boolean
  readonly when: string
  readonly reason: string
  readonly wayOut: string
  /** Choices the answer lies in, for showing it at the field. */
  readonly fields: readonly (keyof Choices)[]
  /** The step kind it is shown on first. */
  readonly firstStep?: string
  readonly basis: Basis
}

/** An amount to weigh, with its arithmetic in one line. */
export interface Dose {
  readonly product: string
  readonly amount: number
  readonly unit: 'g' | 'kg' | 'mL' | 'L'
  readonly volumeL: number
  readonly arithmetic: string
  readonly basis: Basis
}

export const TASK_STATES = ['planned', 'due', 'underway', 'done', 'skipped', 'cancelled', 'blocked'] as const
export type TaskState = (typeof TASK_STATES)[number]

export interface TaskPlan {
  readonly key: string
  readonly lotId: string | null
  readonly lotCode: string
  readonly step: string
  readonly count: number
  readonly family: Family
  /** `Rack clear juice off juice lees`, said with its numbers where it has them. */
  readonly name: string
  readonly detail: string
  readonly startAt: Temporal.Instant
  readonly endAt: Temporal.Instant
  /** `day`: of its start only the day is meant, hour and hands are named nearer to it. */
  readonly grain: Grain
  readonly crewMin: number
  readonly people: readonly string[]
  readonly crew: number
  /** Done by the crew of other work as one stream: its minutes are theirs already. */
  readonly streams?: true
  /** Name of the site where it is done. Absent: the cellar itself. */
  readonly site?: string
  readonly fromVessels: readonly string[]
  readonly toVessels: readonly string[]
  readonly machines: readonly string[]
  /** Litres it moves or treats, as planned; absent where it does neither. */
  readonly volumeL?: number
  readonly state: TaskState
  readonly earliestAt: Temporal.Instant
  readonly latestAt: Temporal.Instant
  readonly slackMin: number
  /** True where the date hangs on a reading still to come. */
  readonly forecast: boolean
  readonly spread?: {
    readonly earliestAt: Temporal.Instant
    readonly latestAt: Temporal.Instant
  }
  readonly pinned: boolean
  readonly doses: readonly Dose[]
  readonly records: readonly ReadingKind[]
  readonly caution: string
  readonly materials: readonly string[]
  /** Why this date: one sentence for people. */
  readonly why: string
  readonly whyNotLater: string
  readonly prev: readonly string[]
  readonly next: readonly string[]
  /** The links that end in it, with how long they ask for. */
  readonly waits: readonly Wait[]
  readonly conflicts: readonly string[]
  readonly broken: readonly BrokenWords[]
}

/** How finely work is planned. */
export type Grain = 'day' | 'minute'

/** A link as the task after it sees it: how long after an edge of `key` it may start. */
export interface Wait {
  readonly key: string
  readonly from: 'start' | 'end'
  readonly minMin: number
  /** Absent: no upper bound. */
  readonly maxMin?: number
  /** Advice, not a limit. */
  readonly soft?: true
}

export interface BrokenWords {
  readonly rule: string
  readonly strength: 'hard' | 'soft'
  readonly taskKeys: readonly string[]
  readonly words: string
}

export const PHASE_KINDS = ['fruit', 'settle', 'macerate', 'ferment', 'malolactic', 'lees', 'cold', 'store'] as const
export type PhaseKind = (typeof PHASE_KINDS)[number]

/** What the wine does by itself: the band of the timeline. */
export interface Phase {
  readonly key: string
  readonly lotId: string
  readonly lotCode: string
  readonly kind: PhaseKind
  readonly vessels: readonly string[]
  readonly volumeL: number
  readonly startAt: Temporal.Instant
  readonly endAt: Temporal.Instant
  readonly endSpread?: {
    readonly earliestAt: Temporal.Instant
    readonly latestAt: Temporal.Instant
  }
  /** One figure a day from the start: g/L sugar fallen, g/L malic turned, ... by kind. */
  readonly ratePerDay: readonly number[]
  readonly tempC: number
}

export interface ConflictFound {
  readonly lotId: string
  readonly id: string
  readonly level: ConflictLevel
  readonly reason: string
  readonly wayOut: string
  readonly fields: readonly string[]
  readonly firstTaskKey?: string
  readonly signedReason?: string
}

/** What a ferment asks people to look at, in one sentence. */
export interface Watch {
  readonly kind: string
  readonly level: 'note' | 'warn' | 'act'
  readonly words: string
}

export interface CellarPlan {
  readonly tasks: readonly TaskPlan[]
  readonly phases: readonly Phase[]
  readonly conflicts: readonly ConflictFound[]
  readonly broken: readonly BrokenWords[]
  /** Per lot: when dry, and how sure. */
  readonly forecasts: readonly {
    readonly lotId: string
    readonly dryAt?: {
      readonly earliestAt: Temporal.Instant
      readonly likelyAt: Temporal.Instant
      readonly latestAt: Temporal.Instant
    }
    readonly points: readonly {
      readonly at: Temporal.Instant
      readonly sugarGPerL: number
      readonly lowGPerL: number
      readonly highGPerL: number
      readonly tempC: number
    }[]
    /** Risk of the ferment, then its alarms. */
    readonly watch?: readonly Watch[]
  }[]
}
