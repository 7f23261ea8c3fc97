/** The invented cellar with a plan laid out by hand: who is where, what is to be done, as each test says. */
import { demoFacts } from '../../../api/demo/facts.ts'
import type { AskGround, AskPlan, AskTask } from '../../../api/protocol/answers/ask.ts'
import type { Facts } from '../../../api/protocol/facts.ts'
import type { BrokenWords, Phase } from '../../../api/protocol/types.ts'
import { Temporal } from '../../../api/time.ts'

export const ZONE = 'Pacific/Auckland'
export const at = (wall: string): Temporal.Instant =>
  Temporal.PlainDateTime.from(wall).toZonedDateTime(ZONE).toInstant()
export const day = (on: string): Temporal.PlainDate => Temporal.PlainDate.from(on)

/** `L03/top-barrels/1` from a wall time on, for so many minutes. */
export function task(key: string, start: string, min: number, more: Partial<AskTask> = {}): AskTask {
  const [lotCode = '', step = ''] = key.split('/')
  const startAt = at(start)
  return {
    key,
    lotId: lotCode === 'house' ? null : lotCode,
    lotCode,
    step,
    name: step.replaceAll('-', ' '),
    detail: '',
    state: 'planned',
    startAt,
    endAt: startAt.add({ minutes: min }),
    grain: 'minute',
    people: [],
    crew: 1,
    crewMin: min,
    machines: [],
    fromVessels: [],
    toVessels: [],
    latestAt: startAt.add({ hours: 240 }),
    slackMin: 14_400,
    prev: [],
    next: [],
    why: 'as early as the plan begins',
    ...more,
  }
}

export const stay = (
  lotCode: string,
  kind: Phase['kind'],
  vessels: readonly string[],
  from: string,
  to: string,
  volumeL = 1000,
): Phase => ({
  key: `${lotCode}/${kind} ${from}`,
  lotId: lotCode,
  lotCode,
  kind,
  vessels,
  volumeL,
  startAt: at(from),
  endAt: at(to),
  ratePerDay: [],
  tempC: 15,
})

export const plan = (
  tasks: readonly AskTask[],
  phases: readonly Phase[] = [],
  broken: readonly BrokenWords[] = [],
): AskPlan => ({ tasks, phases, broken, forecasts: [], dryAt: new Map() })

export function ground(now: string, known: AskPlan, more: Partial<AskGround> = {}): AskGround {
  const facts: Facts = demoFacts()
  const planOf = () => {
    throw new Error('this question needs no other plan')
  }
  return { facts, plan: known, nowAt: at(now), planOf, ...more }
}
