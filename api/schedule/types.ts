/**
 * What the planner takes and gives. It knows no wine: tasks, links, holds, people, units, calendars.
 * Every time is a whole minute from plan start (UTC); the caller lays calendars out in those minutes.
 */

/** Half-open intervals [from, to) of open time: ascending, disjoint, whole minutes. */
export type Calendar = readonly (readonly [fromMin: number, toMin: number])[]

/** A lag runs on the wine's clock or on people's working time. */
export type Clock = 'elapsed' | 'working'

/** hard: reported as broken and serious; soft: reported as advice. */
export type Strength = 'hard' | 'soft'

export interface Link {
  readonly prev: string
  readonly next: string
  /** The edge of `prev` the lag counts from. The lag always ends at the start of `next`. */
  readonly from: 'start' | 'end'
  readonly minLagMin: number
  /** Absent: no upper bound. */
  readonly maxLagMin?: number
  readonly clock?: Clock
  readonly strength: Strength
  /** Shown to people: why this order and this limit. */
  readonly reason?: string
}

/** Where in its window a task wants to be: as early or as late as it may, or near a minute. */
export type Bias = 'early' | 'late' | { readonly nearMin: number }

/** A share of a pool held for the whole elapsed time: a press, a pump, 12 kW, 5.4 t of cold room. */
export interface Use {
  readonly pool: string
  readonly amount: number
  /** Only these units of the pool will do, in order of preference. Absent: any. */
  readonly units?: readonly string[]
}

export interface Task {
  /** Made from meaning, stable over re-planning: `lot/step/count`. */
  readonly key: string
  /** The lot, or `house` for work that belongs to none. */
  readonly group: string
  /** How long it occupies machines and vessel. 0 for a milestone. */
  readonly elapsedMin: number
  /** How long each of its crew is held, from the start. 0: runs by itself. May exceed elapsedMin. */
  readonly crewMin: number
  readonly crew: number
  /** Done by the whole crew or by nobody: a job under a permit, with its attendant outside. */
  readonly whole?: true
  /** Each skill must be had by at least one of the crew. */
  readonly skills: readonly string[]
  /** People who should do it if they can, best first. */
  readonly prefer?: readonly string[]
  readonly uses: readonly Use[]
  /** The start must fall inside this calendar. */
  readonly startCalendar?: string
  /** Where its crew works, by place in `travel`. Absent: at the first site. */
  readonly site?: number
  /** May pause while its crew is off and go on later. */
  readonly interruptible: boolean
  /**
   * Planned to the day: nobody is named and no machine of one is booked by the minute; its labour and machine time come
   * out of what people on shift and machines have left on that day. Its start says the day and keeps lags and holds
   * exact. Counts while the task is open and nobody has pinned it.
   */
  readonly byDay?: true
  readonly bias: Bias
  /** Not before. */
  readonly releaseMin?: number
  /** Start not after. */
  readonly dueMin?: number
  readonly dueStrength?: Strength
  /** Higher gives way last. 0 to 9; 5 is usual. */
  readonly weight?: number
  /** Fixed by a person: kept even where it breaks a rule, and the broken rule is reported. */
  readonly pin?: {
    readonly startMin?: number
    readonly people?: readonly string[]
    readonly units?: readonly string[]
  }
  /** Past and present facts; never moved. */
  readonly started?: {
    readonly startMin: number
    readonly people: readonly string[]
    readonly units?: readonly string[]
  }
  readonly done?: {
    readonly startMin: number
    readonly endMin: number
    readonly people: readonly string[]
    readonly units?: readonly string[]
  }
  /** A forecast's width: the end may come this much earlier or later. */
  readonly spread?: { readonly earlierMin: number; readonly laterMin: number }
}

/** One or more units (a vessel, a row of barrels) kept from an edge of one task to an edge of another. */
export interface Hold {
  readonly key: string
  readonly group: string
  readonly from: { readonly task: string; readonly edge: 'start' | 'end' }
  readonly to: { readonly task: string; readonly edge: 'start' | 'end' }
  /** Unit ids that would do, in order of preference. */
  readonly candidates: readonly string[]
  /** Units wanted; 1 where an amount is. */
  readonly count: number
  /** Of shared units (tonnes of a cold room): how much is kept, of one where it fits, else of several. Absent: whole units. */
  readonly amount?: number
  /** Free time the unit needs before this hold, for cleaning. */
  readonly cleanMin: number
  /** Fixed by a person or by what has happened. */
  readonly units?: readonly string[]
}

export interface Person {
  readonly id: string
  readonly skills: readonly string[]
  readonly calendar: string
}

export interface Unit {
  readonly id: string
  readonly pool: string
  /** How much of it there is: 1 press, 17.25 kW, 8 t. Tasks on a unit of capacity 1 go one at a time. */
  readonly capacity: number
  /** When it may be used. Absent: always. */
  readonly calendar?: string
  /** Free time between two uses by different groups, for washing. */
  readonly turnaroundMin?: number
  /** Fixed bookings: minutes it is not to be had. */
  readonly booked?: readonly {
    readonly fromMin: number
    readonly toMin: number
    readonly amount?: number
    readonly why: string
  }[]
}

export interface Problem {
  readonly nowMin: number
  readonly horizonMin: number
  readonly tasks: readonly Task[]
  readonly links: readonly Link[]
  readonly holds: readonly Hold[]
  readonly people: readonly Person[]
  readonly units: readonly Unit[]
  readonly calendars: Readonly<Record<string, Calendar>>
  /** Minutes at which local days begin, ascending, for work that is planned to the day. Outside them a day has 1,440. */
  readonly days?: readonly number[]
  /** Whole minutes that a person takes from each site to each other. Absent: all work lies at one site. */
  readonly travel?: readonly (readonly number[])[]
  /** The plan people know; kept where it can be. A hold stands here under its own key, for its units. */
  readonly previous?: readonly {
    readonly key: string
    readonly startMin: number
    readonly people: readonly string[]
    readonly units: readonly string[]
    /** People know its day alone, and nobody is named. */
    readonly byDay?: true
    /** Rules that people know it breaks: not looked at once more. Absent: nothing is known of it. */
    readonly broken?: readonly string[]
  }[]
  readonly seed: number
  /** Search effort, counted in schedules built. 1 builds once and mends what is broken; 0 does not mend. */
  readonly moves: number
}

/** What set a start: follow `ref` back to a fact a person knows. */
export interface Cause {
  readonly kind:
    | 'now'
    | 'release'
    | 'deadline'
    | 'link'
    | 'person'
    | 'travel'
    | 'unit'
    | 'window'
    | 'shift'
    | 'pin'
    | 'done'
    | 'bias'
    | 'previous'
    | 'day'
  /** Task key, person id, unit id or calendar id. Of a day that is full: `hands`, `skill press` or `pool pump`. */
  readonly ref?: string
  /** Of a link its lag, of travel the time on the way. */
  readonly lagMin?: number
  /** Of a day that is full: where it begins. */
  readonly dayMin?: number
  /** Of a day that is full: the work that takes most of what it gives, minutes of it. */
  readonly fills?: readonly { readonly key: string; readonly minutes: number }[]
  /** Of a person or unit that is not free: the task or hold that has it. Of travel: the work at the other site. */
  readonly by?: string
}

export interface Placed {
  readonly key: string
  readonly startMin: number
  readonly endMin: number
  /** When its crew is free again. */
  readonly crewEndMin: number
  readonly people: readonly string[]
  readonly units: readonly string[]
  /** Planned to the day: of its start only the day is meant. */
  readonly byDay?: true
  /** By links alone. */
  readonly earliestMin: number
  readonly latestMin: number
  /** How far it may slip before a hard limit breaks. */
  readonly slackMin: number
  /** Binding cause first, then what is tight too. */
  readonly notEarlier: readonly Cause[]
  readonly notLater: readonly Cause[]
}

export interface PlacedHold {
  readonly key: string
  readonly units: readonly string[]
  readonly fromMin: number
  readonly toMin: number
}

export type RuleId =
  | 'link-too-short'
  | 'link-too-long'
  | 'unit-taken'
  | 'person-taken'
  | 'travel-short'
  | 'no-person'
  | 'no-unit'
  | 'outside-shift'
  | 'outside-window'
  | 'before-release'
  | 'after-due'
  | 'pool-short'
  | 'day-full'
  | 'beyond-horizon'
  | 'cycle'

export interface BrokenRule {
  readonly rule: RuleId
  readonly strength: Strength
  readonly tasks: readonly string[]
  /** Unit, person, pool or calendar it is about; of a full day `hands`, `skill press` or `pool pump`. */
  readonly ref?: string
  /** Of a full day: where it begins. */
  readonly dayMin?: number
  /** By how much: minutes or amount. */
  readonly by?: number
  readonly reason?: string
}

export interface Plan {
  readonly placed: readonly Placed[]
  readonly holds: readonly PlacedHold[]
  readonly broken: readonly BrokenRule[]
  readonly schedulesUsed: number
}

/** How far a search has come. */
export interface Progress {
  readonly schedules: number
  readonly of: number
  /** Hard rules broken in the best plan so far. */
  readonly brokenHard: number
  /** Of a schedule that is being built: tasks placed, of how many. */
  readonly placed?: number
  readonly tasks?: number
}

export type Watch = (progress: Progress) => void

/** `schedule(problem)` never fails: what cannot be met is in `broken`. `watch` hears of every schedule built. */
export type Scheduler = (problem: Problem, watch?: Watch) => Plan
