import { describe, expect, it } from 'vitest'
import { demoFacts } from '../../api/demo/facts.ts'
import { conflictContextOf } from '../../api/protocol/conflicts/context.ts'
import { blocking, findConflicts } from '../../api/protocol/conflicts.ts'
import { STEPS } from '../../api/protocol/steps.ts'

const facts = demoFacts()
const foundOf = (code: string) => {
  const lot = facts.lots.find((entry) => entry.code === code)
  if (!lot) throw new Error(`the invented cellar has no lot ${code}`)
  return { lot, found: findConflicts(conflictContextOf(lot, facts)) }
}

describe('the twelve lots of the invented cellar', () => {
  it('hold one trap: the late picked Riesling is to be stopped in barrels, and K09 stands against it', () => {
    const blocked = facts.lots.flatMap((lot) =>
      findConflicts(conflictContextOf(lot, facts))
        .filter((rule) => rule.level === 'block')
        .map((rule) => `${lot.code} ${rule.id}`),
    )
    expect(blocked).toEqual(['L08 K09'])
  })

  it('and the winemaker has signed it, so the protocol may be saved', () => {
    const { lot, found } = foundOf('L08')
    expect(blocking(found, []).map((rule) => rule.id)).toEqual(['K09'])
    expect(blocking(found, lot.signed)).toEqual([])
  })

  it('the Sauvignon soaked on its skins with 40 mg/L SO2 is warned of its phenols', () => {
    expect(foundOf('L02').found.map((rule) => rule.id)).toContain('K22')
  })

  it('the stirred Chardonnay of 200 NTU is warned to rack its gross lees first', () => {
    expect(foundOf('L03').found.map((rule) => rule.id)).toContain('K13')
  })

  it('the base wine of pH 3.05 that waits for malolactic is warned', () => {
    expect(foundOf('L06').found.map((rule) => rule.id)).toContain('K03')
  })
})

describe('the six people of the invented cellar', () => {
  it('can do every kind of work, also when the seasonal hands have left', () => {
    const staying = facts.people.filter((person) => person.untilOn === undefined)
    expect(staying.length).toBeGreaterThanOrEqual(3)
    for (const step of STEPS)
      for (const skill of step.skills)
        expect(
          staying.some((person) => person.skills.includes(skill)),
          `${step.id} needs ${skill}`,
        ).toBe(true)
  })

  it('have every skill that is preferred', () => {
    for (const step of STEPS)
      for (const skill of step.prefers ?? [])
        expect(
          facts.people.some((person) => person.skills.includes(skill)),
          `${step.id} prefers ${skill}`,
        ).toBe(true)
  })
})
