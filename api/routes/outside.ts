/** An outside calendar: public holidays become days without work, a bottling line's or a gang's hours become bookings. */

import { z } from '@hono/zod-openapi'
import type { Context } from 'hono'
import { findCellar, saveCellar } from '../../db/queries/cellars.ts'
import { appendEntry } from '../../db/queries/record.ts'
import { listMachines, listVessels, saveMachine, saveVessel } from '../../db/queries/vessels.ts'
import { type OutsideCalendar, readOutside } from '../feed/outside.ts'
import { MONTHS_ON } from '../feed/types.ts'
import { code } from '../fields.ts'
import { fieldProblem, problem } from '../problem.ts'
import type { Booking } from '../protocol/facts.ts'
import { cellarEntry } from '../record/cellar.ts'
import { dayOf, Temporal, wallTimeAt } from '../time.ts'
import { day, moment } from '../wire.ts'
import { anewShape, planAnew } from './anew.ts'
import { type AppEnv, answers, describe, routes } from './route.ts'

const USES = ['holidays', 'bookings'] as const

const outsideWire = z
  .object({
    name: z.string(),
    as: z.enum(USES),
    written: z.boolean(),
    entries: z.array(
      z.object({
        title: z.string(),
        fromOn: day,
        untilOn: day,
        fromAt: moment.optional(),
        toAt: moment.optional(),
        /** It is in the cellar already, by the same name and time. */
        known: z.boolean(),
      }),
    ),
    left: z.array(z.object({ title: z.string(), why: z.string() })),
    ...anewShape,
  })
  .openapi('OutsideCalendar')

/** A day off in the plan is a whole day; an entry of a few hours is none. */
const HOLIDAY_MIN_H = 12

export const outside = routes().openapi(
  describe({
    method: 'post',
    path: '/api/import/calendar/{as}',
    operationId: 'importCalendar',
    tags: ['Import and export'],
    summary:
      'An outside .ics file as holidays of the cellar or bookings of a machine or vessel; looked at with preview',
    request: {
      params: z.object({ as: z.enum(USES) }),
      query: z.object({
        preview: z.enum(['true', 'false']).default('true'),
        unit: code.optional().openapi({ description: 'Code of the machine or vessel that the bookings are for' }),
      }),
      body: {
        required: true,
        content: { 'text/calendar': { schema: z.string().openapi({ example: 'BEGIN:VCALENDAR...' }) } },
      },
    },
    responses: { 200: answers(outsideWire, 'What was found; `written` says whether it is stored') },
  }),
  async (c) => {
    const type = c.req.header('content-type')?.split(';')[0]?.trim().toLowerCase()
    if (type !== 'text/calendar') throw problem(415, 'wrong-media-type', 'Send the calendar as text/calendar')
    const { as } = c.req.valid('param')
    const query = c.req.valid('query')
    const found = await look(c, await c.req.text())
    const target = await targetOf(c, as, query.unit)
    const entries = found.entries.map((e) => told(e, target.zone, target.isKnown))
    const answer = { name: found.name, as, entries, left: [...found.left, ...target.tooShort(entries)] }
    if (query.preview === 'true') return c.json({ ...answer, written: false, changed: [], revision: 0 }, 200)
    await target.write(entries.filter((e) => !e.known))
    return c.json({ ...answer, written: true, ...(await planAnew(c)) }, 200)
  },
)

type Told = z.infer<typeof outsideWire>['entries'][number]

async function look(c: Context<AppEnv>, text: string): Promise<OutsideCalendar> {
  const cellar = await findCellar(c.var.db, c.var.who.cellarId)
  const nowAt = c.var.now()
  const todayOn = dayOf(nowAt, cellar!.zone)
  const found = readOutside(
    text,
    cellar!.zone,
    wallTimeAt(todayOn.subtract({ days: 60 }), 0, cellar!.zone),
    wallTimeAt(todayOn.add({ months: MONTHS_ON }), 0, cellar!.zone),
  )
  if (found.ok) return found.value
  if (found.why === 'too-large')
    throw problem(413, 'too-large', 'The calendar is too large', { detail: 'At most 2 million characters.' })
  throw problem(422, 'not-a-calendar', 'This is not a calendar file', {
    detail: 'Expected the text of an .ics file, beginning with BEGIN:VCALENDAR.',
  })
}

function told(
  entry: OutsideCalendar['entries'][number],
  zone: string,
  isKnown: (e: Omit<Told, 'known'>) => boolean,
): Told {
  const { span } = entry
  const plain =
    span.kind === 'days'
      ? { title: entry.title, fromOn: span.fromOn.toString(), untilOn: span.untilOn.toString() }
      : {
          title: entry.title,
          fromOn: dayOf(span.fromAt, zone).toString(),
          untilOn: dayOf(span.toAt.subtract({ milliseconds: 1 }), zone).toString(),
          fromAt: span.fromAt.toString(),
          toAt: span.toAt.toString(),
        }
  return { ...plain, known: isKnown(plain) }
}

interface Target {
  readonly zone: string
  readonly isKnown: (entry: Omit<Told, 'known'>) => boolean
  readonly tooShort: (entries: readonly Told[]) => { title: string; why: string }[]
  readonly write: (entries: readonly Told[]) => Promise<void>
}

const hoursOf = (e: Pick<Told, 'fromAt' | 'toAt'>) =>
  e.fromAt && e.toAt ? (Date.parse(e.toAt) - Date.parse(e.fromAt)) / 3_600_000 : 24

const changedMeanwhile = () => problem(409, 'changed-meanwhile', 'Somebody changed this meanwhile; look again')

async function targetOf(c: Context<AppEnv>, as: (typeof USES)[number], unit: string | undefined): Promise<Target> {
  const { db, who } = c.var
  const cellar = (await findCellar(db, who.cellarId))!
  if (as === 'holidays') {
    const days = new Set(cellar.holidays.map((h) => h.on.toString()))
    return {
      zone: cellar.zone,
      isKnown: (e) => daysOf(e).every((on) => days.has(on)),
      tooShort: (entries) =>
        entries
          .filter((e) => hoursOf(e) < HOLIDAY_MIN_H)
          .map((e) => ({ title: e.title, why: 'it lasts a few hours: no day off. Import it as bookings instead' })),
      write: async (entries) => {
        const more = entries
          .filter((e) => hoursOf(e) >= HOLIDAY_MIN_H)
          .flatMap((e) => daysOf(e).map((on) => ({ on: Temporal.PlainDate.from(on), name: e.title })))
          .filter((h) => !days.has(h.on.toString()))
        const holidays = [...cellar.holidays, ...more].sort((a, b) => Temporal.PlainDate.compare(a.on, b.on))
        const next = { ...cellar, holidays }
        const saved = await db.transaction(async (tx) => {
          const over = await saveCellar(tx, next, cellar.version)
          if (over.ok) await appendEntry(tx, who.cellarId, cellarEntry(next, who.personId, c.var.now(), 'holidays'))
          return over
        })
        if (!saved.ok) throw changedMeanwhile()
      },
    }
  }
  if (unit === undefined) throw fieldProblem('#query/unit', 'is missing: which machine or vessel the bookings are for')
  const machine = (await listMachines(db, who.cellarId)).find((m) => m.code === unit)
  const vessel = (await listVessels(db, who.cellarId)).find((v) => v.code === unit)
  const booked = machine?.bookings ?? vessel?.bookings
  if (!booked) throw fieldProblem('#query/unit', `is not known: there is no machine or vessel ${unit}`)
  return {
    zone: cellar.zone,
    isKnown: (e) => booked.some((b) => same(b, bookingOf(e, cellar.zone))),
    tooShort: () => [],
    write: async (entries) => {
      const bookings = [...booked, ...entries.map((e) => bookingOf(e, cellar.zone))]
      const by = { personId: who.personId, at: c.var.now(), words: 'from a calendar' }
      const saved = await db.transaction(async (tx) =>
        machine
          ? saveMachine(tx, who.cellarId, { ...machine, bookings }, machine.version, by)
          : saveVessel(tx, who.cellarId, { ...vessel!, bookings }, vessel!.version, by),
      )
      if (!saved.ok) throw changedMeanwhile()
    },
  }
}

function daysOf(e: Pick<Told, 'fromOn' | 'untilOn'>): string[] {
  const days: string[] = []
  const untilOn = Temporal.PlainDate.from(e.untilOn)
  for (
    let on = Temporal.PlainDate.from(e.fromOn);
    Temporal.PlainDate.compare(on, untilOn) <= 0;
    on = on.add({ days: 1 })
  )
    days.push(on.toString())
  return days
}

const bookingOf = (e: Omit<Told, 'known'>, zone: string): Booking => ({
  fromAt: e.fromAt ? Temporal.Instant.from(e.fromAt) : wallTimeAt(Temporal.PlainDate.from(e.fromOn), 0, zone),
  toAt: e.toAt
    ? Temporal.Instant.from(e.toAt)
    : wallTimeAt(Temporal.PlainDate.from(e.untilOn).add({ days: 1 }), 0, zone),
  why: e.title,
})

const same = (a: Booking, b: Booking) => a.fromAt.equals(b.fromAt) && a.toAt.equals(b.toAt) && a.why === b.why
