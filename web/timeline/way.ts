/** Whether somebody comes from one site to another in time, and goes on in time. */
import { eachTouching } from './interval.ts'
import { type MoveRules, nameOf } from './rules.ts'
import type { PersonWire, TaskWire } from './wire.ts'
import { lengthWords } from './words.ts'

const MIN_MS = 60_000

/** Work at another site that a person cannot come from, or go on to, in the time between; nothing where they can. */
export function onTheWay(
  rules: MoveRules,
  person: PersonWire,
  ix: number,
  startMs: number,
  endMs: number,
): string | undefined {
  const { model, words } = rules
  const { travel } = model.plan
  const own = rules.byPerson.get(person.id)
  if (!travel || !own) return undefined
  const siteOf = (i: number) => Math.max(0, travel.sites.indexOf(model.plan.tasks[i]?.site ?? ''))
  const nameOfSite = (site: number) => (site === 0 ? 'the cellar' : travel.sites[site])
  const here = siteOf(ix)
  const endOf = (i: number) => (model.startMs[i] as number) + (model.plan.tasks[i] as TaskWire).crewMin * MIN_MS
  const longestMs = Math.max(...travel.minutes.flat()) * MIN_MS
  let found: string | undefined
  eachTouching(own, endOf, startMs - longestMs, endMs + longestMs, (i) => {
    const there = siteOf(i)
    if (found || i === ix || there === here) return
    const comes = endOf(i) <= startMs
    const min = (comes ? travel.minutes[there]?.[here] : travel.minutes[here]?.[there]) ?? 0
    const leftMs = comes ? startMs - endOf(i) : (model.startMs[i] as number) - endMs
    if (leftMs >= min * MIN_MS) return
    const way = `${comes ? 'comes from' : 'goes on to'} ${nameOfSite(there)} and needs ${lengthWords(min * MIN_MS)}`
    found = `${person.name} ${way}: ${nameOf(model, i)} ${comes ? `ends ${words.time(endOf(i))}` : `starts ${words.time(model.startMs[i] as number)}`}.`
  })
  return found
}
