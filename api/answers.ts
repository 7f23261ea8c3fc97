/** The questions people ask of a plan: each in plain words, what it needs to know, and how it is answered. */
import { z } from '@hono/zod-openapi'
import { day, id, moment } from './fields.ts'
import { fieldProblem } from './problem.ts'
import { type Answer, type AskGround, saying } from './protocol/answers/ask.ts'
import { coolingFor, lastPick, pressOn, takeMore, warmsFirst } from './protocol/answers/fruit.ts'
import { beforeHome, load, sick, whoTops } from './protocol/answers/people.ts'
import { hurtsNext, possible, stopChill, whenDry, whyMoved } from './protocol/answers/plan.ts'
import { cleaningOn, freeTank } from './protocol/answers/vessels.ts'
import { waysOut } from './protocol/answers/ways-out.ts'
import { whyThen } from './protocol/answers/why.ts'
import type { Lot } from './protocol/facts.ts'
import { Temporal } from './time.ts'

/** All that a question may need; each names its own. */
export const asked = z.object({
  lot: id.optional().openapi({ description: 'Lot id or code' }),
  on: day.optional(),
  volumeL: z.coerce.number().gt(0).max(1_000_000).optional(),
  purpose: z.enum(['settling', 'fermenting', 'storing']).optional(),
  row: id.optional().openapi({ description: 'Row of barrels, or a vessel' }),
  person: id.optional(),
  task: z
    .string()
    .regex(/^[A-Za-z0-9._-]{1,16}\/[a-z0-9-]{1,64}\/[0-9]{1,5}$/, 'must be a task such as L01/press/1')
    .optional(),
  at: moment.optional(),
  byC: z.coerce.number().gt(0).max(60).optional().openapi({ description: 'How far to chill, C' }),
  inH: z.coerce.number().gt(0).max(240).optional().openapi({ description: 'In how many hours' }),
  tonnes: z.coerce.number().gt(0).max(500).optional(),
  days: z.coerce.number().int().min(1).max(31).optional(),
})
export type Asked = z.output<typeof asked>
export type AskedField = keyof Asked

interface Question {
  readonly id: string
  readonly words: string
  /** Fields it needs; those with a `?` may be left out. */
  readonly needs: readonly (AskedField | `${AskedField}?`)[]
  readonly answer: (g: AskGround, a: Asked) => Answer | Promise<Answer>
}

export const QUESTIONS: readonly Question[] = [
  {
    id: 'free-tank',
    words: 'Which tank is free on a day for so many litres?',
    needs: ['on', 'volumeL', 'purpose?'],
    answer: (g, a) => freeTank(g, { on: on(a), volumeL: have(a, 'volumeL'), purpose: a.purpose ?? 'settling' }),
  },
  {
    id: 'press-on',
    words: 'What if we press a lot on another day?',
    needs: ['lot', 'on'],
    answer: (g, a) => pressOn(g, { lot: lotOf(g, a), on: on(a) }),
  },
  {
    id: 'take-more',
    words: 'Can we take more tonnes on a day?',
    needs: ['tonnes', 'on', 'lot'],
    answer: (g, a) => takeMore(g, { like: lotOf(g, a), on: on(a), tonnes: have(a, 'tonnes') }),
  },
  {
    id: 'cooling-for',
    words: 'Do we have the cooling for it?',
    needs: ['volumeL', 'byC', 'inH', 'at?'],
    answer: (g, a) =>
      coolingFor(g, {
        at: a.at ? Temporal.Instant.from(a.at) : g.nowAt,
        volumeL: have(a, 'volumeL'),
        byC: have(a, 'byC'),
        inH: have(a, 'inH'),
      }),
  },
  { id: 'warms-first', words: 'The chiller is down: which ferment warms first?', needs: [], answer: warmsFirst },
  {
    id: 'who-tops',
    words: 'Who tops a row on a day?',
    needs: ['row', 'on'],
    answer: (g, a) => whoTops(g, { row: have(a, 'row'), on: on(a) }),
  },
  {
    id: 'when-dry',
    words: 'When will this ferment be dry?',
    needs: ['lot'],
    answer: (g, a) => whenDry(g, { lot: lotOf(g, a) }),
  },
  {
    id: 'stop-chill',
    words: 'When do we start the chill so that it stops in time?',
    needs: ['lot'],
    answer: (g, a) => stopChill(g, { lot: lotOf(g, a) }),
  },
  {
    id: 'why-moved',
    words: 'Why did this task move?',
    needs: ['task'],
    answer: (g, a) => whyMoved(g, { key: have(a, 'task') }),
  },
  {
    id: 'why-then',
    words: 'Why does this task stand there, and not earlier or later?',
    needs: ['task'],
    answer: (g, a) => whyThen(g, { key: have(a, 'task') }),
  },
  {
    id: 'before-home',
    words: 'What must be done before I go home?',
    needs: ['person?'],
    answer: (g, a) => beforeHome(g, a.person ? { person: a.person } : {}),
  },
  {
    id: 'sick',
    words: 'What happens if somebody is away on a day?',
    needs: ['person', 'on'],
    answer: (g, a) => sick(g, { person: have(a, 'person'), on: on(a) }),
  },
  {
    id: 'cleaning',
    words: 'Which tanks need cleaning on a day, and in what order?',
    needs: ['on?'],
    answer: (g, a) => cleaningOn(g, { on: onOr(g, a) }),
  },
  {
    id: 'load',
    words: 'How full are everybody’s days?',
    needs: ['on?', 'days?'],
    answer: (g, a) => load(g, { from: onOr(g, a), days: a.days ?? 7 }),
  },
  { id: 'possible', words: 'Is the plan possible at all?', needs: [], answer: possible },
  {
    id: 'ways-out',
    words: 'What is in the way, and what would it cost to get out of it?',
    needs: ['task?'],
    answer: (g, a) => waysOut(g, a.task ? { key: a.task } : {}),
  },
  {
    id: 'last-pick',
    words: 'What is the last day to pick for a finish on a date?',
    needs: ['lot', 'on'],
    answer: (g, a) => lastPick(g, { lot: lotOf(g, a), finishOn: on(a) }),
  },
  { id: 'hurts-next', words: 'What will hurt us next week?', needs: [], answer: hurtsNext },
]

function have<F extends AskedField>(a: Asked, field: F): NonNullable<Asked[F]> {
  const value = a[field]
  if (value === undefined) throw fieldProblem(`#query/${field}`, 'is missing')
  return value as NonNullable<Asked[F]>
}

const on = (a: Asked) => Temporal.PlainDate.from(have(a, 'on'))
const onOr = (g: AskGround, a: Asked) => Temporal.PlainDate.from(a.on ?? saying(g).dayOf(g.nowAt))

function lotOf(g: AskGround, a: Asked): Lot {
  const name = have(a, 'lot')
  const lot = g.facts.lots.find((l) => l.id === name) ?? g.facts.lots.find((l) => l.code === name)
  if (!lot) throw fieldProblem('#query/lot', `is not known: there is no lot ${name}`)
  return lot
}
