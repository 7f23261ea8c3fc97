import ICAL from 'ical.js'
import nodeIcal from 'node-ical'
import { describe, expect, it } from 'vitest'
import { writeFeed } from '../../api/feed/write.ts'
import { dayOf, wallTimeAt } from '../../api/time.ts'
import { makeFeedTask, makeSettings, NOW, ZONES } from './make.ts'

interface Seen {
  readonly uid: string
  readonly sequence: number
  readonly startMs: number
  readonly endMs: number
  readonly summary: string
  readonly description: string
  readonly location: string
  readonly status: string
}

const byUid = (seen: Seen[]) => seen.sort((a, b) => (a.uid < b.uid ? -1 : 1))

function throughIcalJs(body: string): Seen[] {
  const root = new ICAL.Component(ICAL.parse(body))
  ICAL.TimezoneService.reset()
  for (const z of root.getAllSubcomponents('vtimezone')) ICAL.TimezoneService.register(new ICAL.Timezone(z))
  return byUid(
    root.getAllSubcomponents('vevent').map((c) => {
      const e = new ICAL.Event(c)
      return {
        uid: e.uid,
        sequence: e.sequence,
        startMs: e.startDate.toUnixTime() * 1000,
        endMs: e.endDate.toUnixTime() * 1000,
        summary: e.summary,
        description: e.description,
        location: e.location,
        status: String(c.getFirstPropertyValue('status')),
      }
    }),
  )
}

function throughNodeIcal(body: string): Seen[] {
  return byUid(
    Object.values(nodeIcal.sync.parseICS(body)).flatMap((e) =>
      e && e.type === 'VEVENT'
        ? [
            {
              uid: e.uid,
              sequence: Number(e.sequence),
              startMs: e.start.getTime(),
              endMs: e.end.getTime(),
              summary: String(e.summary),
              description: String(e.description),
              location: String(e.location),
              status: String(e.status),
            },
          ]
        : [],
    ),
  )
}

// Working hours only: node-ical doubles the minutes of a local time between 00:00 and 01:00.
const tasksIn = (zone: string) =>
  Array.from({ length: 70 }, (_, n) => {
    const startAt = wallTimeAt(dayOf(NOW, zone).add({ days: n * 2 - 20 }), (5 + (n % 17)) * 60 + 20, zone)
    return makeFeedTask(n, {
      startAt,
      endAt: startAt.add({ minutes: 45 }),
      lotName: 'Lower block',
      action: 'Rack clear juice',
    })
  })

describe.each(ZONES)('a feed in %s', (zone) => {
  const tasks = tasksIn(zone)
  const body = writeFeed(tasks, makeSettings({ zone }), NOW)
  const written = new Map(tasks.map((t) => [t.uid, t]))

  it.each([
    ['ical.js', throughIcalJs],
    ['node-ical', throughNodeIcal],
  ] as const)('reads back through %s with the times, texts and revisions that went in', (_, parse) => {
    const seen = parse(body)
    expect(seen.length).toBeGreaterThan(60)
    for (const e of seen) {
      const task = written.get(e.uid)!
      expect(e.sequence).toBe(task.sequence)
      expect(e.startMs).toBe(task.startAt.epochMilliseconds)
      expect(e.endMs).toBe(task.endAt.epochMilliseconds)
      expect(e.summary).toContain('T09 > T01 · Rack clear juice · L01')
      expect(e.location).toBe('T09 > T01, Ostrel Yard')
      expect(['TENTATIVE', 'CONFIRMED', 'CANCELLED']).toContain(e.status)
    }
  })

  it('says the same to both', () => {
    const strip = (seen: Seen[]) => seen.map(({ description: _, ...rest }) => rest)
    expect(strip(throughNodeIcal(body))).toEqual(strip(throughIcalJs(body)))
  })
})
