/** How full the cold room and the bins get while a lot's fruit is in them. */
import { minutesFrom, type Temporal } from '../../time.ts'
import type { Facts, MachineKind } from '../facts.ts'
import { type AskPlan, number } from './ask.ts'

interface Lies {
  readonly lotCode: string
  readonly tonnes: number
  readonly fromAt: Temporal.Instant
  readonly toAt: Temporal.Instant
}

const STORES: readonly { readonly kind: MachineKind; readonly words: string; readonly since: string }[] = [
  { kind: 'cold-room', words: 'The cold room holds', since: 'cool-fruit' },
  { kind: 'bins', words: 'The bins hold', since: 'receive' },
]

/** A sentence for each store that the lot's fruit takes; a lot that comes in over several days is counted whole. */
export function storeWords(plan: AskPlan, facts: Facts, code: string): readonly string[] {
  return STORES.flatMap(({ kind, words, since }) => {
    const holdsT = facts.machines.filter((m) => m.kind === kind).reduce((sum, m) => sum + m.capacity, 0)
    const all = lying(plan, facts, since, kind)
    const own = all.find((l) => l.lotCode === code)
    if (holdsT === 0 || !own) return []
    // It is fullest as somebody's fruit comes in.
    const beside = all.filter((l) => l === own || overlap(l, own))
    const mostT = Math.max(...beside.map((l) => all.filter((o) => isThere(o, l.fromAt)).reduce(sumT, 0)))
    const over = mostT > holdsT ? `, ${number(mostT - holdsT, 1)} t too much` : ''
    return [`${words} ${number(holdsT, 1)} t: at most ${number(mostT, 1)} t lie in it at once${over}.`]
  })
}

const sumT = (sum: number, l: Lies): number => sum + l.tonnes

const isThere = (l: Lies, at: Temporal.Instant): boolean =>
  minutesFrom(l.fromAt, at) >= 0 && minutesFrom(at, l.toAt) > 0

const overlap = (a: Lies, b: Lies): boolean => minutesFrom(a.fromAt, b.toAt) > 0 && minutesFrom(b.fromAt, a.toAt) > 0

/** From the first that comes until the last is tipped into the press or the destemmer. */
function lying(plan: AskPlan, facts: Facts, since: string, kind: MachineKind): readonly Lies[] {
  const stores = new Set(facts.machines.filter((m) => m.kind === kind).map((m) => m.id))
  return facts.lots.flatMap((lot) => {
    const own = plan.tasks.filter((t) => t.lotCode === lot.code && t.state !== 'cancelled' && t.state !== 'skipped')
    const from = own.filter((t) => t.step === since && t.machines.some((id) => stores.has(id)))
    const crushed = own.filter((t) => t.step === 'destem-crush')
    const to = crushed.length > 0 ? crushed : own.filter((t) => t.step === 'load-press')
    if (from.length === 0 || to.length === 0) return []
    return [
      {
        lotCode: lot.code,
        tonnes: lot.fruit.tonnes,
        fromAt: from.map((t) => t.startAt).reduce((a, b) => (minutesFrom(a, b) < 0 ? b : a)),
        toAt: to.map((t) => t.endAt).reduce((a, b) => (minutesFrom(a, b) > 0 ? b : a)),
      },
    ]
  })
}
