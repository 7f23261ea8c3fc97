import { beforeAll, describe, expect, it } from 'vitest'
import { Temporal } from '../../api/time.ts'
import type { PersonWire, TaskWire } from '../../api/wire.ts'
import { addProposal, findOpenProposal } from '../../db/queries/proposals.ts'
import { type Demo, local, makeDemo, wall } from './demo.ts'
import type { Call, ProblemBody } from './make.ts'

interface Move {
  readonly key: string
  readonly fromStartAt: string
  readonly toStartAt: string
  readonly fromPeople: readonly string[]
  readonly toPeople: readonly string[]
  readonly why: string
  readonly applied: boolean
}
interface Proposal {
  readonly id: string
  readonly because: string
  readonly state: string
  readonly moves: readonly Move[]
  readonly refused: readonly string[]
  readonly decidedBy?: string
}

let demo: Demo
let lead: Call

beforeAll(async () => {
  demo = await makeDemo()
  lead = demo.as('alex')
})

const proposals = async () =>
  (await lead<{ open: Proposal | null; earlier: readonly Proposal[] }>('GET', '/api/proposals')).body

/** Sam is away on Tuesday 23 March: the plan of Monday's and Tuesday's other people may want to be another. */
async function samIsAway() {
  const sam = (await lead<{ people: PersonWire[] }>('GET', '/api/people')).body.people.find((p) => p.id === 'sam')!
  const answer = await lead('POST', '/api/people/sam/absences', {
    fromAt: wall('2027-03-23T00:00'),
    toAt: wall('2027-03-24T00:00'),
    reason: 'ill',
    version: sam.version,
  })
  expect(answer.status).toBe(201)
}

describe('a plan that would move announced work', () => {
  it('gives the work of somebody away to others at once and lists it; others stand until somebody agrees', async () => {
    const before = await demo.tasks()
    const theirs = before.filter(
      (t) => t.people.includes('sam') && t.crew > 0 && t.state === 'planned' && local(t.startAt).startsWith('03-23'),
    )
    expect(theirs.length).toBeGreaterThan(0)
    await samIsAway()
    const after = await demo.tasks()
    const left = after.filter(
      (t) => t.people.includes('sam') && t.crew > 0 && t.state === 'planned' && local(t.startAt).startsWith('03-23'),
    )
    expect(left.map((t) => t.key)).toEqual([])
    const { open, earlier } = await proposals()
    const told = [...(open ? [open] : []), ...earlier][0]!
    expect(told.because).toBe('Sam is away')
    const first = told.moves.find((m) => m.applied && m.fromPeople.includes('sam'))!
    expect(theirs.map((t) => t.key)).toContain(first.key)
    expect(first.why).not.toBe('')

    const now = new Map(after.map((t) => [t.key, t]))
    // What waits stands where it stood; whatever else moved within today and tomorrow is on the list.
    const waiting = told.moves.filter((m) => !m.applied)
    for (const m of waiting)
      expect(now.get(m.key)).toMatchObject({ startAt: m.fromStartAt, people: m.fromPeople, pinned: false })
    const listed = new Set(told.moves.map((m) => m.key))
    const silent = before.filter((t) => {
      const next = now.get(t.key)
      if (!next || !['due', 'planned'].includes(t.state) || listed.has(t.key)) return false
      if (t.startAt <= wall('2027-03-22T06:30') || t.startAt >= wall('2027-03-24T00:00')) return false
      const min = Math.abs(Date.parse(next.startAt) - Date.parse(t.startAt)) / 60_000
      // Less than a quarter of an hour with the same people is no news.
      return min >= 15 || next.people.join() !== t.people.join()
    })
    expect(silent.map((t) => t.key)).toEqual([])
  })

  it('asks nobody where a person who leads decides: the pin moves what it must at once', async () => {
    const here = (await demo.tasks()).find((t) => t.lotCode === 'L07' && t.state === 'planned' && t.crew > 0)!
    const startAt = Temporal.Instant.from(here.startAt).add({ hours: 24 }).toString()
    const before = await proposals()
    expect((await lead('POST', `/api/tasks/${here.key}/pin`, { startAt })).status).toBe(200)
    expect((await proposals()).earlier.length).toBeGreaterThanOrEqual(before.earlier.length)
    expect((await demo.task(here.key)).startAt).toBe(startAt)
  })
})

describe('deciding a proposal', () => {
  /** Two moves of the next days' rounds, as a planner might want them. */
  async function proposed(): Promise<readonly [string, readonly TaskWire[]]> {
    const open = await findOpenProposal(demo.db, demo.cellarId)
    if (open)
      await lead('POST', `/api/proposals/${open.id}/decide`, {
        accept: open.moves.filter((m) => !m.applied).map((m) => m.key),
      })
    const two = (await demo.tasks())
      .filter(
        (t) => t.step === 'check-ferment' && t.state === 'planned' && !t.pinned && local(t.startAt).startsWith('03-23'),
      )
      .slice(0, 2)
    expect(two).toHaveLength(2)
    const id = `proposal-${two[0]!.key.replaceAll('/', '-')}-${Date.now()}`
    await addProposal(demo.db, demo.cellarId, {
      id,
      madeAt: Temporal.Instant.from(wall('2027-03-22T06:30')),
      because: 'a test asks',
      state: 'open',
      moves: two.map((t) => ({
        key: t.key,
        lotCode: t.lotCode,
        name: t.name,
        fromStartAt: t.startAt,
        toStartAt: t.startAt,
        fromPeople: t.people,
        toPeople: ['sam'],
        why: 'a test asks',
        applied: false,
      })),
    })
    return [id, two]
  }

  it('in part pins what was refused where it stands, with who, why and when; it stays there over later plans', async () => {
    const [id, [yes, no]] = await proposed()
    const answer = await lead<{ proposal: Proposal }>('POST', `/api/proposals/${id}/decide`, {
      accept: [yes!.key],
      reason: 'the round is given out',
    })
    expect(answer.body.proposal).toMatchObject({ state: 'partly', refused: [no!.key], decidedBy: 'alex' })
    expect(await demo.task(no!.key)).toMatchObject({ startAt: no!.startAt, people: no!.people, pinned: true })
    expect((await demo.task(yes!.key)).pinned).toBe(false)
    const { history } = (
      await lead<{ history: { kind: string; taskKey?: string; personId?: string; words: string }[] }>(
        'GET',
        `/api/lots/${no!.lotId}`,
      )
    ).body
    const told = history.find((h) => h.taskKey === no!.key && h.personId === 'alex')!
    expect(told.words).toMatch(/stays where it was: a test asks\. the round is given out/)
    await lead('POST', '/api/readings', { readings: [{ lot: 'L01', kind: 'temp', value: 13 }] })
    expect(await demo.task(no!.key)).toMatchObject({ startAt: no!.startAt, people: no!.people, pinned: true })
  })

  it('once is enough: the second to decide is told so', async () => {
    const [id, two] = await proposed()
    const accept = two.map((t) => t.key)
    const both = await Promise.all([
      lead<ProblemBody>('POST', `/api/proposals/${id}/decide`, { accept: [] }),
      lead<ProblemBody>('POST', `/api/proposals/${id}/decide`, { accept }),
    ])
    expect(both.map((a) => a.status).sort()).toEqual([200, 409])
    expect(both.find((a) => a.status === 409)!.body.type).toBe('not-open')
  })

  it('takes only moves that wait, from those who lead', async () => {
    const [id] = await proposed()
    const wrong = await lead<ProblemBody>('POST', `/api/proposals/${id}/decide`, { accept: ['L99/press/1'] })
    expect([wrong.status, wrong.body.errors?.[0]?.pointer]).toEqual([422, '#/accept/0'])
    expect((await demo.as('kim')('POST', `/api/proposals/${id}/decide`, { accept: [] })).status).toBe(403)
    expect((await demo.as('kim')('GET', '/api/proposals')).status).toBe(200)
  })

  it('passes by itself once a newer plan no longer asks', async () => {
    const [id] = await proposed()
    await lead('POST', '/api/readings', { readings: [{ lot: 'L12', kind: 'temp', value: 16 }] })
    const { open, earlier } = await proposals()
    expect(open?.id).not.toBe(id)
    expect(earlier.find((p) => p.id === id)?.state).toBe('passed')
  })
})
