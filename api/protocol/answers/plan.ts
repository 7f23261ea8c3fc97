/** Why a task moved, whether the plan is possible, what will hurt next. */
import { minutesFrom, Temporal } from '../../time.ts'
import type { Lot } from '../facts.ts'
import { type Answer, type AskGround, type AskTask, byStart, count, isOpen, length, number, saying } from './ask.ts'
import { staysOf } from './stays.ts'

/** "Why did this task move?" The chain of causes, each with its old date. */
export function whyMoved(g: AskGround, asked: { readonly key: string }): Answer {
  const say = saying(g)
  const known = new Map(g.plan.tasks.map((t) => [t.key, t]))
  const task = known.get(asked.key)
  if (!task) return { verdict: 'no', sentences: [`There is no task ${asked.key}.`] }
  const chain: AskTask[] = []
  for (
    let t: AskTask | undefined = task;
    t && !chain.includes(t) && chain.length < MOST_LINKS;
    t = movedBefore(t, known)
  )
    chain.push(t)
  const moved = chain.filter((t) => t.change)
  return {
    sentences:
      moved.length === 0
        ? [
            `${say.task(task)} has not moved since it was first planned: ${say.start(task)}.`,
            `It stands there because: ${task.why}.`,
          ]
        : [
            ...moved.map((t) => `${say.task(t)}: ${t.change!.words}.`),
            `It stands now at ${say.start(task)}: ${task.why}.`,
          ],
    table: {
      head: ['Work', 'Was', 'Is', 'Told'],
      rows: moved.map((t) => {
        const { at, fromStartAt, fromGrain = 'minute', toStartAt, toGrain = 'minute' } = t.change!
        return {
          cells: [
            say.task(t),
            say.start({ startAt: Temporal.Instant.from(fromStartAt), grain: fromGrain }),
            say.start({ startAt: Temporal.Instant.from(toStartAt), grain: toGrain }),
            say.at(Temporal.Instant.from(at)),
          ],
          taskKey: t.key,
        }
      }),
    },
  }
}

const MOST_LINKS = 8

/** The work before it that moved in the same plan. */
function movedBefore(t: AskTask, known: ReadonlyMap<string, AskTask>): AskTask | undefined {
  return t.prev
    .flatMap((key) => known.get(key) ?? [])
    .filter((p) => p.change && t.change && p.change.at === t.change.at)
    .sort(byStart)
    .at(-1)
}

/** "Is the plan possible at all?" The first thing that breaks, its day and by how much. */
export function possible(g: AskGround): Answer {
  const say = saying(g)
  const known = new Map(g.plan.tasks.map((t) => [t.key, t]))
  const open = g.plan.broken
    .map((b) => ({ b, tasks: b.taskKeys.flatMap((key) => known.get(key) ?? []).sort(byStart) }))
    .filter(({ tasks }) => tasks.some(isOpen))
    .sort((a, b) => byStart(a.tasks[0]!, b.tasks[0]!))
  const hard = open.filter(({ b }) => b.strength === 'hard')
  const soft = open.filter(({ b }) => b.strength === 'soft')
  const first = hard[0]
  return {
    verdict: hard.length === 0 ? 'yes' : 'no',
    sentences: [
      first
        ? `No plan was found that keeps every hard rule. The first that breaks is on ${say.start(first.tasks[0]!)}: ${first.b.words}.`
        : 'Yes: every hard rule is kept.',
      ...(hard.length > 1
        ? [`${count(hard.length - 1, 'more hard rule')} ${hard.length === 2 ? 'breaks' : 'break'}.`]
        : []),
      soft.length === 0 ? 'No wish is left unmet.' : `${count(soft.length, 'wish', 'wishes')} cannot be met as asked.`,
    ],
    table: {
      head: ['When', 'Kind', 'What'],
      rows: [...hard, ...soft].slice(0, 40).map(({ b, tasks }) => ({
        cells: [say.start(tasks[0]!), b.strength === 'hard' ? 'rule' : 'wish', b.words],
        ...(tasks[0] ? { taskKey: tasks[0].key } : {}),
      })),
    },
  }
}

/** "What is the one thing that will hurt us next week?" Broken rules, then what has least room, then the vessel least to spare. */
export function hurtsNext(g: AskGround): Answer {
  const say = saying(g)
  const near = (t: AskTask) =>
    isOpen(t) && minutesFrom(g.nowAt, t.startAt) < WEEK_MIN && minutesFrom(g.nowAt, t.startAt) > -WEEK_MIN
  const known = new Map(g.plan.tasks.map((t) => [t.key, t]))
  const broken = g.plan.broken.filter(
    (b) => b.strength === 'hard' && b.taskKeys.some((key) => known.has(key) && near(known.get(key)!)),
  )
  const tight = g.plan.tasks
    .filter((t) => near(t) && t.crew > 0 && t.state !== 'underway')
    .sort((a, b) => a.slackMin - b.slackMin || byStart(a, b))
    .slice(0, 5)
  const only = handovers(g)[0]
  return {
    sentences: [
      broken[0] ? `${broken[0].words}.` : 'No hard rule breaks next week.',
      ...(tight[0]
        ? [
            `Least room: ${say.task(tight[0])} on ${say.start(tight[0])} may slip ${length(tight[0].slackMin)} before a hard limit breaks.`,
          ]
        : []),
      ...(only
        ? [
            `${only.vessel} is the only ${only.kind}: ${only.first} has it to ${say.at(only.firstToAt)}, ${only.second} from ${say.at(only.secondFromAt)}, ${length(only.gapMin)} between them.`,
          ]
        : []),
    ],
    table: {
      head: ['Work', 'Starts', 'May slip', 'By'],
      rows: tight.map((t) => ({
        cells: [say.task(t), say.start(t), length(t.slackMin), say.crew(t)],
        taskKey: t.key,
      })),
    },
  }
}

const WEEK_MIN = 7 * 1440

/** Vessels of which the cellar has one, handed from lot to lot: the tightest first. */
function handovers(g: AskGround) {
  const say = saying(g)
  const single = g.facts.vessels.filter(
    (v) =>
      v.kind !== 'barrel' &&
      v.state !== 'out-of-service' &&
      g.facts.vessels.filter((w) => w.kind === v.kind).length === 1,
  )
  const stays = staysOf(g.plan)
  return single
    .flatMap((v) => {
      const own = stays
        .filter((s) => s.vessel === v.id && minutesFrom(g.nowAt, s.toAt) > 0)
        .sort((a, b) => minutesFrom(b.fromAt, a.fromAt))
      return own.slice(1).flatMap((second, i) => {
        const first = own[i]!
        if (first.lotCode === second.lotCode) return []
        return [
          {
            vessel: say.nameOf(v.id),
            kind: v.kind.replace('-', ' '),
            first: first.lotCode,
            firstToAt: first.toAt,
            second: second.lotCode,
            secondFromAt: second.fromAt,
            gapMin: minutesFrom(first.toAt, second.fromAt),
          },
        ]
      })
    })
    .sort((a, b) => a.gapMin - b.gapMin)
}

/** "When can I start the chill so that it stops at 22 g/L?" */
export function stopChill(g: AskGround, asked: { readonly lot: Lot }): Answer {
  const say = saying(g)
  const { lot } = asked
  const stop = lot.choices.stopSugarGPerL
  const task = g.plan.tasks.find((t) => t.lotId === lot.id && t.step === 'stop-chill' && t.state !== 'cancelled')
  if (lot.choices.endPoint !== 'stop' || stop === undefined || !task)
    return { verdict: 'no', sentences: [`${lot.code} is not to be stopped.`] }
  const points = (g.plan.forecasts.find((f) => f.lotId === lot.id)?.points ?? []).map((p) => ({
    ms: Temporal.Instant.from(p.at).epochMilliseconds,
    sugar: p.sugarGPerL,
  }))
  const from = task.startAt.epochMilliseconds
  const at = (ms: number) => along(points, ms)
  const fallPerDay = Math.max(0, (at(from - 6 * HOUR_MS) - at(from + 6 * HOUR_MS)) * 2)
  const now = at(g.nowAt.epochMilliseconds)
  return {
    sentences: [
      `${lot.code} is to stop at ${number(stop)} g/L: ${task.detail}.`,
      isOpen(task)
        ? `Start the cold on ${say.start(task)}; the forecast has ${number(at(from))} g/L then, falling ${number(fallPerDay, 1)} g/L a day.`
        : `The cold was started on ${say.start(task)}.`,
      ...(now > 0 && isOpen(task) ? [`The forecast for now is ${number(now)} g/L.`] : []),
      'A reading decides: start when the hydrometer shows it, whatever the day.',
    ],
    table: {
      head: ['Work', 'When', 'By'],
      rows: [{ cells: [task.name, say.start(task), say.crew(task)], taskKey: task.key }],
    },
  }
}

const HOUR_MS = 3_600_000

function along(points: readonly { readonly ms: number; readonly sugar: number }[], ms: number): number {
  const i = points.findIndex((p) => p.ms >= ms)
  if (i < 0) return points.at(-1)?.sugar ?? 0
  const [a, b] = [points[i - 1], points[i]!]
  return a ? a.sugar + ((b.sugar - a.sugar) * (ms - a.ms)) / Math.max(1, b.ms - a.ms) : b.sugar
}

/** "When will this ferment be dry?" */
export function whenDry(g: AskGround, asked: { readonly lot: Lot }): Answer {
  const say = saying(g)
  const { lot } = asked
  const at = g.plan.dryAt.get(lot.id)
  const check = g.plan.tasks.find((t) => t.lotId === lot.id && t.step === 'check-dry' && t.state !== 'cancelled')
  const last = g.facts.readings
    .filter((r) => r.lotId === lot.id && (r.kind === 'density' || r.kind === 'sugar' || r.kind === 'brix'))
    .at(-1)
  if (!at) return { verdict: 'no', sentences: [`There is no forecast for ${lot.code}.`] }
  return {
    sentences: [
      `${lot.code} is likely ${lot.choices.endPoint === 'stop' ? 'at its stop' : 'dry'} on ${say.at(at)}.`,
      ...(last
        ? [`The last reading is ${last.kind} ${number(last.value, 1)}, ${say.at(last.takenAt)}.`]
        : ['Nothing has been read yet: the forecast stands on the fruit and the temperature plan.']),
      ...(check ? [`It is proved by two tests; the first is planned for ${say.start(check)}.`] : []),
    ],
    ...(check
      ? {
          table: {
            head: ['Work', 'When', 'By'],
            rows: [{ cells: [check.name, say.start(check), say.crew(check)], taskKey: check.key }],
          },
        }
      : {}),
  }
}
