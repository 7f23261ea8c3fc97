import type { CellarPlan, TaskPlan } from '../../api/protocol/types.ts'
import { Temporal } from '../../api/time.ts'

export const MORNING = Temporal.Instant.from('2027-03-21T19:00:00Z')

/** A planned task with nothing remarkable about it. */
export function makeTask(key: string, changes: Partial<TaskPlan> = {}): TaskPlan {
  const [lotCode = 'L01', step = 'rack-juice', count = '1'] = key.split('/')
  return {
    key,
    lotId: lotCode === 'house' ? null : lotCode,
    lotCode,
    step,
    count: Number(count),
    family: 'move',
    name: 'Rack clear juice off juice lees',
    detail: '5,790 L',
    startAt: MORNING,
    endAt: MORNING.add({ minutes: 105 }),
    grain: 'minute',
    crewMin: 105,
    people: ['sam', 'robin'],
    crew: 2,
    fromVessels: ['T09'],
    toVessels: ['T01'],
    machines: ['P2'],
    state: 'planned',
    earliestAt: MORNING.subtract({ hours: 1 }),
    latestAt: MORNING.add({ hours: 6 }),
    slackMin: 360,
    forecast: false,
    pinned: false,
    doses: [
      {
        product: 'potassium metabisulfite',
        amount: 270,
        unit: 'g',
        volumeL: 3080,
        arithmetic: '50 mg/L x 3,080 L / 0.57',
        basis: { kind: 'source', refs: ['S23'] },
      },
    ],
    records: ['volume'],
    caution: '',
    materials: [],
    why: 'The juice is clear.',
    whyNotLater: 'Lees begin to work.',
    prev: [],
    waits: [],
    next: [],
    conflicts: [],
    broken: [],
    ...changes,
  }
}

export const makePlan = (tasks: readonly TaskPlan[], changes: Partial<CellarPlan> = {}): CellarPlan => ({
  tasks,
  phases: [],
  conflicts: [],
  broken: [],
  forecasts: [],
  ...changes,
})
