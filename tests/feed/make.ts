import { FEED_LANGUAGES, type FeedSettings, type FeedTask } from '../../api/feed/types.ts'
import { taskUid } from '../../api/feed/uid.ts'
import { FAMILIES, TASK_STATES } from '../../api/protocol/types.ts'
import { Temporal } from '../../api/time.ts'

export const NOW = Temporal.Instant.from('2027-03-22T05:00:00Z')

/** Wine-growing zones of both hemispheres; two with half-hour changes or none at all. */
export const ZONES = [
  'Pacific/Auckland',
  'America/Santiago',
  'Australia/Lord_Howe',
  'Europe/Paris',
  'Africa/Johannesburg',
  'America/New_York',
] as const

export function makeFeedTask(n: number, more: Partial<FeedTask> = {}): FeedTask {
  const startAt = NOW.add({ hours: n * 7 - 200 })
  return {
    uid: taskUid('cellar-1', `L01/rack-juice/${n}`),
    sequence: n % 4,
    changedAt: Temporal.Instant.from('2027-03-20T02:00:00Z').add({ minutes: n }),
    startAt,
    endAt: startAt.add({ minutes: 45 }),
    wholeDays: false,
    state: TASK_STATES[n % TASK_STATES.length]!,
    forecast: n % 3 === 0,
    family: FAMILIES[n % FAMILIES.length]!,
    step: 'rack-juice',
    action: 'Rack clear juice; off the lees, slowly',
    lotCode: 'L01',
    lotName: 'Lower block, west; \\ rows 1-9',
    where: 'T09 > T01',
    people: ['Sam', 'Robin'],
    detail: 'Keep 370 L back.\nStop at a bulkhead.',
    doses: ['PMS 270 g = 50 mg/L x 3,080 L / 570'],
    caution: 'CO2 in the emptied tank: meter on, nobody enters.',
    reason: n % 7 === 5 ? 'merged into L05' : '',
    path: `/tasks/L01/rack-juice/${n}`,
    next: [{ uid: taskUid('cellar-1', `L01/rack-juice/${n + 1}`), gapMin: 720 }],
    ...more,
  }
}

export function makeSettings(more: Partial<FeedSettings> = {}): FeedSettings {
  return {
    name: 'Sam, cellar lead',
    cellarName: 'Ostrel Yard',
    zone: 'Pacific/Auckland',
    language: FEED_LANGUAGES[0],
    showDoses: true,
    baseUrl: 'https://cellar.example',
    alarmMin: { juice: 30, move: 30, ferment: 15 },
    fromAt: NOW.subtract({ hours: 60 * 24 }),
    toAt: NOW.add({ hours: 548 * 24 }),
    ...more,
  }
}
