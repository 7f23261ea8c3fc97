import type { Context } from 'hono'
import { findCellar } from '../../db/queries/cellars.ts'
import { fieldProblem } from '../problem.ts'
import type { Site } from '../protocol/facts.ts'
import type { AppEnv } from './route.ts'

/** What is wrong with a site that a vessel or machine names; undefined when it is one of the cellar's. */
export function siteWords(sites: readonly Site[] | undefined, name: string | undefined): string | undefined {
  if (name === undefined || sites?.some((s) => s.name === name)) return undefined
  const known = (sites ?? []).map((s) => s.name)
  return known.length > 0
    ? `is not a site of the cellar: ${known.join(', ')}`
    : 'the cellar has no other sites: say under Cellar how far away they are'
}

export async function checkSite(c: Context<AppEnv>, name: string | undefined): Promise<void> {
  if (name === undefined) return
  const wrong = siteWords((await findCellar(c.var.db, c.var.who.cellarId))?.sites, name)
  if (wrong) throw fieldProblem('#/site', wrong)
}

/** Each site once, and ways only to sites that are there. */
export function checkSites(sites: readonly Site[]): void {
  sites.forEach(({ name, to }, i) => {
    if (sites.findIndex((s) => s.name === name) < i) throw fieldProblem(`#/sites/${i}/name`, 'is there already')
    for (const other of Object.keys(to ?? {}))
      if (other === name || !sites.some((s) => s.name === other))
        throw fieldProblem(`#/sites/${i}/to`, `${other} is not another site of the cellar`)
  })
}
