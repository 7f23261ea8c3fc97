import type { Calendar, Person, Plan, Problem, Task } from '../../api/schedule/types.ts'

/**
 * Judges a plan by the raw constraints, in the slowest and plainest way. Shares no code with the planner:
 * minutes are counted one by one where that is cheap, and spans compared pair by pair everywhere else.
 */
export interface Verdict {
  /** Violated rules as `rule key+key ref`. */
  readonly violated: readonly string[]
  /** Things that may never be wrong, whatever is broken: facts moved, a task lost, a length changed. */
  readonly absurd: readonly string[]
}

interface Span {
  readonly from: number
  readonly to: number
  readonly amount: number
  readonly group: string
  readonly kind: 'task' | 'hold' | 'fixed'
  readonly keys: readonly string[]
  readonly clean: number
  readonly past: boolean
}

export function judge(problem: Problem, plan: Plan): Verdict {
  const violated: string[] = []
  const absurd: string[] = []
  const say = (rule: string, keys: readonly string[], ref = '') => violated.push(nameOf(rule, keys, ref))
  const tasks = new Map(problem.tasks.map((t) => [t.key, t]))
  const placed = new Map(plan.placed.map((p) => [p.key, p]))
  const calendarOf = (id: string): Calendar => problem.calendars[id] ?? []
  const anybody = problem.people.map((p) => calendarOf(p.calendar))
  const isFact = (t: Task) => t.done !== undefined || t.started !== undefined

  if (placed.size !== problem.tasks.length || plan.placed.length !== problem.tasks.length)
    absurd.push('tasks lost or doubled')

  for (const t of problem.tasks) {
    const p = placed.get(t.key)
    if (!p) continue
    const known = t.done?.startMin ?? t.started?.startMin ?? t.pin?.startMin
    if (known !== undefined && p.startMin !== known) absurd.push(`${t.key} was moved from its fixed start`)
    if (t.done && p.endMin !== t.done.endMin) absurd.push(`${t.key} is done and got another end`)
    for (const id of t.done?.people ?? t.started?.people ?? t.pin?.people ?? [])
      if (t.crew > 0 && t.crewMin > 0 && problem.people.some((x) => x.id === id) && !p.people.includes(id))
        absurd.push(`${t.key} lost ${id}`)
    if (!isFact(t) && !t.interruptible && p.endMin !== p.startMin + t.elapsedMin)
      absurd.push(`${t.key} has another length`)
    if (new Set(p.people).size !== p.people.length) absurd.push(`${t.key} has somebody twice`)
    if (!Number.isInteger(p.startMin) || !Number.isInteger(p.endMin)) absurd.push(`${t.key} is not on whole minutes`)
    if (isFact(t)) continue
    if (t.releaseMin !== undefined && p.startMin < t.releaseMin) say('before-release', [t.key])
    if (p.startMin < problem.nowMin) {
      say('before-release', [t.key], 'now')
      if (t.pin?.startMin === undefined) absurd.push(`${t.key} was put into the past`)
    }
    if (t.dueMin !== undefined && p.startMin > t.dueMin) say('after-due', [t.key])
    if (
      t.startCalendar !== undefined &&
      !calendarOf(t.startCalendar).some(([a, b]) => p.startMin >= a && p.startMin < b)
    )
      say('outside-window', [t.key], t.startCalendar)
    if (p.endMin > problem.horizonMin) say('beyond-horizon', [t.key])
  }

  for (const l of problem.links) {
    const prev = placed.get(l.prev)
    const next = placed.get(l.next)
    const nextTask = tasks.get(l.next)
    if (!prev || !next || !nextTask || isFact(nextTask)) continue
    const edge = l.from === 'end' ? prev.endMin : prev.startMin
    const passed = l.clock === 'working' ? worked(anybody, next.startMin) - worked(anybody, edge) : next.startMin - edge
    if (passed < l.minLagMin || (l.clock === 'working' && l.minLagMin >= 0 && next.startMin < edge))
      say('link-too-short', [l.prev, l.next])
    if (l.maxLagMin !== undefined && passed > l.maxLagMin) say('link-too-long', [l.prev, l.next])
  }

  const busy = new Map<string, { from: number; to: number; key: string; fact: boolean; site: number }[]>()
  const byDay = (t: Task) => t.byDay === true && !isFact(t) && t.pin === undefined
  for (const t of problem.tasks) {
    const p = placed.get(t.key)
    if (!p) continue
    if ((p.byDay === true) !== byDay(t)) absurd.push(`${t.key} is told by the ${p.byDay ? 'day' : 'minute'}`)
    if (byDay(t) && p.people.length > 0) absurd.push(`${t.key} names people although only its day is planned`)
  }
  for (const t of problem.tasks) {
    const p = placed.get(t.key)
    if (!p || t.crew === 0 || t.crewMin === 0) continue
    if (byDay(t)) {
      if (!crewsOf(t.crew, problem.people).some((c) => t.skills.every((s) => c.some((x) => x.skills.includes(s))))) {
        const lost = t.skills.filter((s) => !problem.people.some((x) => x.skills.includes(s)))
        for (const s of lost) say('no-person', [t.key], s)
        if (problem.people.length < t.crew || lost.length === 0) say('no-person', [t.key])
      }
      continue
    }
    const crew = p.people.flatMap((id) => problem.people.filter((x) => x.id === id))
    const pieces = piecesOf(
      t,
      p.startMin,
      crew.map((c) => calendarOf(c.calendar)),
      isFact(t),
      p.crewEndMin,
    )
    for (const c of crew)
      busy.set(c.id, [
        ...(busy.get(c.id) ?? []),
        ...pieces
          .filter(([from, to]) => from < to)
          .map(([from, to]) => ({ from, to, key: t.key, fact: isFact(t), site: t.site ?? 0 })),
      ])
    if (isFact(t)) continue
    const last = pieces.at(-1)?.[1]
    if (crew.length > 0 && p.crewEndMin !== last) absurd.push(`${t.key} frees its crew at ${p.crewEndMin}, not ${last}`)
    const unskilled = t.skills.filter((s) => !crew.some((c) => c.skills.includes(s)))
    for (const s of unskilled) say('no-person', [t.key], s)
    // A hand that is missing for want of a skill is named by the skill.
    if (crew.length + unskilled.length < t.crew) say('no-person', [t.key])
    for (const c of crew)
      if (!pieces.every(([from, to]) => inside(calendarOf(c.calendar), from, to))) say('outside-shift', [t.key], c.id)
  }
  for (const [id, spans] of busy)
    spans.forEach((a, i) => {
      for (const b of spans.slice(i + 1))
        if (a.key !== b.key && !(a.fact && b.fact)) {
          const [x, y] = a.from <= b.from ? [a, b] : [b, a]
          if (y.from < x.to) say('person-taken', [a.key, b.key], id)
          else if (y.from - x.to < wayBetween(problem.travel, x.site, y.site)) say('travel-short', [a.key, b.key], id)
        }
    })

  const spans = new Map<string, Span[]>(
    problem.units.map((u) => [
      u.id,
      (u.booked ?? []).map(
        (b): Span => ({
          from: b.fromMin,
          to: b.toMin,
          amount: b.amount ?? u.capacity,
          group: '',
          kind: 'fixed',
          keys: [],
          clean: 0,
          past: true,
        }),
      ),
    ]),
  )
  for (const t of problem.tasks) {
    const p = placed.get(t.key)
    if (!p) continue
    const left = [...p.units]
    for (const use of t.uses) {
      if (byDay(t) && anyOfSingles(problem, use)) continue
      const pool = problem.units.filter((u) => u.pool === use.pool)
      const own = pool.filter((u) => left.includes(u.id))
      const got: string[] = []
      let amount = use.amount
      // The plan lists units use by use; a use takes units of its pool until it has its amount.
      for (const id of left) {
        const unit = own.find((u) => u.id === id)
        if (!unit || amount <= 1e-9) continue
        const single = Math.max(
          ...(use.units ? pool.filter((u) => use.units?.includes(u.id)) : pool).map((u) => u.capacity),
        )
        const share = use.amount <= single + 1e-9 ? amount : Math.min(amount, unit.capacity)
        got.push(id)
        amount -= share
        spans.get(id)?.push({
          from: p.startMin,
          to: p.endMin,
          amount: share,
          group: t.group,
          kind: 'task',
          keys: [t.key],
          clean: 0,
          past: isFact(t),
        })
      }
      for (const id of got) left.splice(left.indexOf(id), 1)
      if (isFact(t)) continue
      if (got.length === 0) say('no-unit', [t.key], use.pool)
      else if (amount > 1e-9) say('pool-short', [t.key], use.pool)
      if (use.units && !t.pin?.units && got.some((id) => !use.units?.includes(id)))
        absurd.push(`${t.key} got a unit that will not do`)
    }
  }
  for (const h of problem.holds) {
    const p = plan.holds.find((x) => x.key === h.key)
    const from = placed.get(h.from.task)
    const to = placed.get(h.to.task)
    const fromTask = tasks.get(h.from.task)
    const toTask = tasks.get(h.to.task)
    if (!p || !from || !to || !fromTask || !toTask) {
      absurd.push(`hold ${h.key} is lost`)
      continue
    }
    const start = h.from.edge === 'end' ? from.endMin : from.startMin
    const end = h.to.edge === 'end' ? to.endMin : to.startMin
    if (p.fromMin !== start || p.toMin !== end) absurd.push(`hold ${h.key} does not span its edges`)
    if (h.units && h.units.join() !== p.units.join()) absurd.push(`hold ${h.key} lost its fixed units`)
    if (!h.units && p.units.some((u) => !h.candidates.includes(u)))
      absurd.push(`hold ${h.key} got a unit that will not do`)
    const wanted = h.units ? h.units.length : h.count
    if (p.units.length < wanted && !(isFact(fromTask) && isFact(toTask)))
      say('no-unit', [h.from.task, h.to.task], h.key)
    const capacityOf = (id: string) => problem.units.find((u) => u.id === id)?.capacity ?? 1
    // Where no room holds more than a tonne, each is one lot's at a time, and the amount is asked of them together.
    const small = p.units.length > 0 && p.units.every((id) => capacityOf(id) <= 1)
    const room = p.units.reduce((sum, id) => sum + capacityOf(id), 0)
    if (small && (h.amount ?? 0) > room + 1e-9 && !(isFact(fromTask) && isFact(toTask)))
      say('pool-short', [h.from.task, h.to.task], p.units.at(-1))
    let left = h.amount ?? 0
    p.units.forEach((id, k) => {
      // An amount fills unit after unit, and what is left over weighs on the last.
      const share = k === p.units.length - 1 ? left : Math.min(left, capacityOf(id))
      left -= share
      spans.get(id)?.push({
        from: start,
        to: end,
        amount: h.amount === undefined ? capacityOf(id) : share,
        group: h.group,
        kind: 'hold',
        keys: [h.from.task, h.to.task],
        clean: h.cleanMin,
        past: end <= problem.nowMin,
      })
    })
  }
  for (const u of problem.units) {
    const list = (spans.get(u.id) ?? []).filter((s) => s.from < s.to)
    const open = u.calendar === undefined ? undefined : calendarOf(u.calendar)
    for (const s of list)
      if (
        open &&
        s.kind !== 'fixed' &&
        !(s.kind === 'task' ? s.past : s.keys.every((k) => isFact(tasks.get(k)!))) &&
        !inside(open, s.from, s.to)
      )
        say('outside-shift', s.keys, u.id)
    if (u.capacity <= 1) {
      list.forEach((a, i) => {
        for (const b of list.slice(i + 1)) {
          const [x, y] = a.from <= b.from ? [a, b] : [b, a]
          if (x.past && y.past) continue
          if (x.kind !== 'fixed' && y.kind !== 'fixed' && x.kind !== y.kind && x.group === y.group) continue
          const wash = x.kind !== 'fixed' && y.kind !== 'fixed' && x.group !== y.group ? (u.turnaroundMin ?? 0) : 0
          if (x.to + Math.max(wash, y.clean) > y.from) say('unit-taken', [...new Set([...x.keys, ...y.keys])], u.id)
        }
      })
    } else
      for (const at of list) {
        const there = list.filter((s) => s.from <= at.from && s.to > at.from)
        const held = there.filter((s) => s.kind === 'hold').map((s) => s.group)
        const sum = there.reduce((n, s) => n + (s.kind === 'task' && held.includes(s.group) ? 0 : s.amount), 0)
        const open = there.some(
          (s) => s.kind !== 'fixed' && !(s.kind === 'task' ? s.past : s.keys.every((k) => isFact(tasks.get(k)!))),
        )
        if (sum > u.capacity + 1e-9 && open) say('pool-short', [...new Set(there.flatMap((s) => s.keys))], u.id)
      }
  }
  for (const { ref, keys } of overAsked(
    problem,
    plan,
    problem.tasks.filter(byDay),
    (id) => (busy.get(id) ?? []).filter((s) => s.from < s.to),
    (id) => (spans.get(id) ?? []).filter((s) => s.from < s.to),
  ))
    say('day-full', keys, ref)
  return { violated: [...new Set(violated)].sort(), absurd }
}

/** Every crew of this size, or of everybody where there are fewer. */
function crewsOf(size: number, people: readonly Person[]): readonly (readonly Person[])[] {
  if (people.length < size) return []
  if (size === 0) return [[]]
  return people.flatMap((p, k) => crewsOf(size - 1, people.slice(k + 1)).map((rest) => [p, ...rest]))
}

/** Any machine of a kind of which each does one thing at a time. */
const anyOfSingles = (problem: Problem, use: Task['uses'][number]): boolean => {
  const pool = problem.units.filter((u) => u.pool === use.pool)
  return use.units === undefined && pool.length > 0 && pool.every((u) => u.capacity <= 1)
}

interface Taken {
  readonly from: number
  readonly to: number
}

/**
 * Adds up, minute by minute, what work by the day asks of each local day, and what people on shift and machines have
 * left there beside what they do by the minute.
 */
function overAsked(
  problem: Problem,
  plan: Plan,
  daily: readonly Task[],
  busy: (person: string) => readonly Taken[],
  taken: (unit: string) => readonly Taken[],
): { readonly ref: string; readonly keys: readonly string[] }[] {
  const asked = new Map<string, Map<string, number>>()
  const ask = (minute: number, ref: string, key: string, times: number) => {
    const name = `${dayStart(problem.days, minute)}|${ref}`
    const sums = asked.get(name) ?? new Map<string, number>()
    asked.set(name, sums.set(key, (sums.get(key) ?? 0) + times))
  }
  for (const t of daily) {
    const p = plan.placed.find((x) => x.key === t.key)
    if (!p) continue
    const able = problem.people.filter((x) => t.crew > 1 || t.skills.every((s) => x.skills.includes(s)))
    const anybody = problem.calendars && able.flatMap((x) => problem.calendars[x.calendar] ?? [])
    const pieces = t.crew > 0 && t.crewMin > 0 ? piecesOf(t, p.startMin, [anybody], false, 0) : []
    for (const [from, to] of pieces)
      for (let m = from; m < to; m++) {
        const hands = Math.min(t.crew, problem.people.length)
        if (hands > 0) ask(m, 'hands', t.key, hands)
        for (const s of t.skills) if (problem.people.some((x) => x.skills.includes(s))) ask(m, `skill ${s}`, t.key, 1)
      }
    for (const use of t.uses)
      if (anyOfSingles(problem, use))
        for (let m = p.startMin; m < p.endMin; m++) ask(m, `pool ${use.pool}`, t.key, use.amount)
  }
  const isFree = (m: number, spans: readonly Taken[]) => !spans.some((s) => s.from <= m && m < s.to)
  const isOpen = (m: number, id: string | undefined) =>
    id === undefined || (problem.calendars[id] ?? []).some(([a, b]) => a <= m && m < b)
  return [...asked].flatMap(([name, sums]) => {
    const [start, ref = ''] = name.split('|')
    const kind = ref.split(' ')[1]
    const people = problem.people.filter((x) => kind === undefined || x.skills.includes(kind))
    const units = problem.units.filter((u) => u.pool === kind)
    let left = 0
    for (let m = Number(start); dayStart(problem.days, m) === Number(start); m++) {
      if (ref.startsWith('pool ')) left += units.filter((u) => isOpen(m, u.calendar) && isFree(m, taken(u.id))).length
      else left += people.filter((x) => isOpen(m, x.calendar) && isFree(m, busy(x.id))).length
    }
    const sum = [...sums.values()].reduce((a, b) => a + b, 0)
    return sum > left ? [{ ref, keys: [...sums.keys()] }] : []
  })
}

/** Where the local day of a minute begins. */
function dayStart(days: readonly number[] | undefined, minute: number): number {
  const [first = 0, last = 0] = [days?.[0], days?.at(-1)]
  if (minute >= first && minute < last) return [...(days ?? [])].reverse().find((d) => d <= minute) ?? first
  const from = minute < first ? first : last
  return from + Math.floor((minute - from) / 1440) * 1440
}

/** What the plan itself says is broken, in the same words. */
export const reported = (plan: Plan): readonly string[] =>
  [...new Set(plan.broken.filter((b) => b.rule !== 'cycle').map((b) => nameOf(b.rule, b.tasks, b.ref)))].sort()

/** Rules whose `ref` says only which pool or limit, and differs in wording. */
function nameOf(rule: string, keys: readonly string[], ref = ''): string {
  const order = rule === 'link-too-short' || rule === 'link-too-long' ? keys : [...keys].sort()
  return `${rule} ${order.join('+')} ${ref}`.trim()
}

/** Minutes of the shortest way, found by trying all of them. */
function wayBetween(travel: Problem['travel'], from: number, to: number, been: readonly number[] = []): number {
  if (from === to || !travel) return 0
  const ways = travel.map((_, via) =>
    via === from || been.includes(via) ? Infinity : travel[from]![via]! + wayBetween(travel, via, to, [...been, from]),
  )
  return Math.min(...ways)
}

const inside = (calendar: Calendar, from: number, to: number): boolean => {
  for (let at = from; at < to; ) {
    const span = calendar.find(([a, b]) => a <= at && at < b)
    if (!span) return false
    at = span[1]
  }
  return true
}

/** Minutes before t in which at least one calendar is open; all time counts after the last span ends. */
function worked(calendars: readonly Calendar[], t: number): number {
  const spans = calendars.flat()
  if (spans.length === 0) return t
  const last = Math.max(...spans.map(([, b]) => b))
  const edges = [...new Set(spans.flat())].sort((a, b) => a - b)
  let sum = Math.max(0, t - last)
  for (let k = 0; k + 1 < edges.length; k++) {
    const from = edges[k]!
    const to = Math.min(edges[k + 1]!, t)
    if (from < to && spans.some(([a, b]) => a <= from && from < b)) sum += to - from
  }
  return sum
}

/** The minutes in which a crew works: in one go, or only while all of it are on shift. */
function piecesOf(
  t: Task,
  start: number,
  calendars: readonly Calendar[],
  fact: boolean,
  crewEnd: number,
): [number, number][] {
  if (fact) return [[start, crewEnd]]
  if (!t.interruptible || calendars.length === 0) return [[start, start + t.crewMin]]
  const pieces: [number, number][] = []
  const last = Math.max(...calendars.flat().map(([, b]) => b), start)
  let left = t.crewMin
  for (let m = start; m < last && left > 0; m++) {
    if (!calendars.every((c) => c.some(([a, b]) => a <= m && m < b))) continue
    const piece = pieces.at(-1)
    if (piece && piece[1] === m) piece[1] = m + 1
    else pieces.push([m, m + 1])
    left--
  }
  return left > 0 || pieces[0]?.[0] !== start ? [[start, start + t.crewMin]] : pieces
}
