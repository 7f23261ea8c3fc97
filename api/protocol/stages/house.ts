import { dayOf, minutesFrom, momentAt, Temporal, wallTimeAt } from '../../time.ts'
import { isAway, shiftsOf } from '../calendars.ts'
import type { Facts, Person } from '../facts.ts'
import type { Ground } from '../setting.ts'
import { stepOf } from '../steps.ts'
import type { Step } from '../types.ts'
import { fives, type Part, startsId, type Work } from '../work.ts'
import { sizesOfHouse } from './house-sizes.ts'

/** House work is laid out for the coming fortnight only, so that the list stays short. */
const DAYS_AHEAD = 14

interface HouseRule {
  readonly step: string
  readonly falls: (on: Temporal.PlainDate, ground: Ground) => boolean
  readonly windows: readonly (readonly [number, number])[]
  /** Until when it may still begin that day, where a busy hour must not push it to another morning. */
  readonly untilMin?: number
  /** Sundays and holidays too: safety and rounds. */
  readonly everyDay: boolean
}

const RULES: readonly HouseRule[] = [
  { step: 'gas-check', falls: () => true, windows: [[300, 480]], everyDay: true },
  { step: 'round-morning', falls: () => true, windows: [[390, 450]], untilMin: 720, everyDay: false },
  { step: 'close-register', falls: (on) => on.dayOfWeek < 7, windows: [[840, 1110]], everyDay: false },
  { step: 'count-stock', falls: (on) => on.dayOfWeek === 5, windows: [[420, 1020]], everyDay: false },
  { step: 'service', falls: (on) => on.dayOfWeek === 3, windows: [[420, 960]], everyDay: false },
  { step: 'gauge', falls: (on, g) => isLastWorkday(on, g.facts), windows: [[360, 720]], everyDay: false },
]

/** The count is the day of the epoch: a house task keeps its key on whatever day the plan is made. */
export function houseWork(ground: Ground): Part {
  const { cellar } = ground.facts
  const todayOn = dayOf(ground.nowAt, cellar.zone)
  const works: Work[] = []
  for (let ahead = 0; ahead < DAYS_AHEAD; ahead++) {
    const on = todayOn.add({ days: ahead })
    for (const rule of RULES) {
      if (!rule.falls(on, ground)) continue
      if (!rule.everyDay && closed(on, ground.facts)) continue
      const made = houseTask(rule, on, ground)
      if (made) works.push(made)
    }
  }
  return { works: [...works, ...machinesToMend(ground)], links: [], holds: [] }
}

/** Counts of repairs stay clear of those of days. */
const MENDING_FROM = 80_001

/** A machine that somebody reports is looked at the same day; a month later nobody waits for it. */
function machinesToMend(ground: Ground): readonly Work[] {
  const reports = (ground.facts.troubles ?? []).filter((t) => t.kind === 'machine')
  const service = RULES.find((rule) => rule.step === 'service')
  return reports.flatMap((report, i) => {
    const on = dayOf(report.at, ground.facts.cellar.zone)
    const count = MENDING_FROM + i
    const known = ground.ticks.has(`house/service/${count}`)
    const old = report.at.epochMilliseconds < ground.nowAt.epochMilliseconds - 30 * 86_400_000
    const made = service && (known || !old) ? houseTask(service, on, ground, count) : undefined
    if (!made) return []
    const atMin = minutesFrom(ground.startAt, report.at)
    const { startCalendar: _, ...task } = made.task
    return [
      {
        ...made,
        task: { ...task, releaseMin: atMin, dueMin: atMin + 240 },
        detail: 'reported broken: out of service until it is mended; when it is expected back',
      },
    ]
  })
}

function houseTask(rule: HouseRule, on: Temporal.PlainDate, ground: Ground, raised?: number): Work | undefined {
  const step = stepOf(rule.step)
  const { cellar } = ground.facts
  const wall = (minute: number) => minutesFrom(ground.startAt, wallTimeAt(on, minute, cellar.zone))
  const fromMin = wall(rule.windows[0]![0])
  const untilMin = wall(rule.windows.at(-1)![1])
  const count = raised ?? on.since(EPOCH).days
  const key = `house/${rule.step}/${count}`
  const known = ground.ticks.get(key)
  if (raised === undefined && !known?.done && !known?.started && untilMin < minutesFrom(ground.startAt, ground.nowAt))
    return undefined
  const sizes = sizesOfHouse(ground.facts)
  const labourMin = step.labourH(sizes) * 60
  return {
    task: {
      key,
      group: 'house',
      elapsedMin: fives(step.elapsedH(sizes) * 60),
      // A quarter of an hour at the board is all that the round takes of anybody's day.
      crewMin:
        rule.step === 'round-morning'
          ? 15
          : fives(Math.min(labourMin / Math.max(1, step.crew), step.elapsedH(sizes) * 60)),
      crew: crewOf(step, ground.facts),
      skills:
        rule.untilMin !== undefined && !isIn(step.skills, fromMin, wall(rule.untilMin), ground) ? [] : step.skills,
      uses: [],
      startCalendar: startsId(rule.untilMin ? [[rule.windows[0]![0], rule.untilMin]] : rule.windows, undefined, true),
      interruptible: step.interruptible,
      bias: 'early',
      releaseMin: fromMin,
      dueMin: untilMin,
      dueStrength: 'soft',
      weight: rule.step === 'gas-check' ? 7 : rule.step === 'round-morning' ? 5 : 3,
    },
    step: rule.step,
    count,
    name: step.names.en,
    detail: rule.step === 'round-morning' ? 'everybody on shift, a quarter of an hour at the board' : '',
    from: [],
    to: [],
    doses: [],
    volumeL: 0,
    forecast: false,
  }
}

/**
 * Whether somebody with these skills is on shift at some time of a morning, looked at every half hour. Where nobody who
 * decides is in, whoever is there leads the board.
 */
function isIn(skills: readonly string[], fromMin: number, untilMin: number, { facts, startAt }: Ground): boolean {
  const able = facts.people.filter((p) => skills.every((skill) => p.skills.includes(skill)))
  for (let min = fromMin; min < untilMin; min += 30) {
    const at = momentAt(startAt, min)
    const z = at.toZonedDateTimeISO(facts.cellar.zone)
    const day = { on: z.toPlainDate().toString(), weekday: z.dayOfWeek }
    const minute = z.hour * 60 + z.minute
    const isOn = (p: Person) => {
      const shift = shiftsOf(p)(day)
      return shift !== undefined && shift.startMin <= minute && minute < shift.endMin && !isAway(p, at)
    }
    if (able.some(isOn)) return true
  }
  return false
}

/** One leads the board; the others are there anyway. */
const crewOf = (step: Step, facts: Facts): number =>
  step.id === 'round-morning' ? 1 : Math.min(step.crew, Math.max(1, facts.people.length))

const EPOCH = Temporal.PlainDate.from('1970-01-01')

const closed = (on: Temporal.PlainDate, facts: Facts): boolean =>
  facts.cellar.holidays.some((h) => Temporal.PlainDate.compare(h.on, on) === 0)

function isLastWorkday(on: Temporal.PlainDate, facts: Facts): boolean {
  const works = (day: Temporal.PlainDate) => day.dayOfWeek < 6 && !closed(day, facts)
  if (!works(on)) return false
  let next = on.add({ days: 1 })
  while (next.month === on.month) {
    if (works(next)) return false
    next = next.add({ days: 1 })
  }
  return true
}
