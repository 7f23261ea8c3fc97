import type { z } from '@hono/zod-openapi'
import { beforeAll, describe, expect, it } from 'vitest'
import type { TrialWire, trialPlanWire } from '../../api/trials/bodies.ts'
import type { TaskWire } from '../../api/wire.ts'
import { storyOf } from './changes/story.ts'
import { type Demo, local, makeDemo, wall } from './demo.ts'
import type { Call, ProblemBody } from './make.ts'

type TrialPlan = z.output<typeof trialPlanWire>

let demo: Demo
let call: Call

beforeAll(async () => {
  demo = await makeDemo()
  call = demo.as('alex')
})

const made = async (...changes: unknown[]) => {
  const answer = await call<{ trial: TrialWire }>('POST', '/api/trials', { changes })
  expect(answer.text).toContain('"trial"')
  return answer.body.trial
}
const planned = async (id: string) => (await call<TrialPlan>('GET', `/api/trials/${id}/plan`)).body
/** Open work: where it stands and whose it is. What was done stays as it was done, whatever a plan says. */
const stand = (tasks: readonly TaskWire[]) =>
  tasks
    .filter((t) => !['cancelled', 'done', 'skipped'].includes(t.state))
    .map((t) => `${t.key} ${t.startAt} ${t.people.join()}`)
    .sort()

describe('a trial', () => {
  it('that presses a lot tomorrow moves its press by a day and leaves the real plan as it is', async () => {
    const before = await demo.tasks()
    // L04 is picked on Wed 24 March in the story; a day earlier is Tue 23.
    const trial = await made({ kind: 'pick', lot: 'L04', pickOn: '2027-03-23' })
    expect(trial.words).toEqual(['L04 Chardonnay west is picked on Tue 23 Mar'])
    const plan = await planned(trial.id)
    const receive = plan.tasks.find((t) => t.key === 'L04/receive/1')!
    expect(local(receive.startAt).slice(0, 5)).toBe('03-23')
    const moved = plan.changed.find((t) => t.key === 'L04/receive/1')!
    expect(local(moved.fromStartAt!).slice(0, 5)).toBe('03-24')
    expect(plan.numbers.byLot.find((l) => l.lotCode === 'L04')!.moved).toBeGreaterThan(5)
    expect(stand(await demo.tasks())).toEqual(stand(before))
  })

  it('of nothing that matters moves nothing: both sides of the comparison are one plan', async () => {
    // The basket press takes no lot of this vintage before L10's skins in April; two hours tonight hurt nobody.
    const trial = await made({
      kind: 'machine-down',
      machine: 'PC',
      fromAt: wall('2027-03-22T20:00'),
      toAt: wall('2027-03-22T22:00'),
      why: 'seal',
    })
    const { numbers, changed } = await planned(trial.id)
    expect(changed.map((t) => t.key)).toEqual([])
    expect(numbers.moved + numbers.added + numbers.gone).toBe(0)
    expect(numbers.brokenHard.after).toBe(numbers.brokenHard.before)
    expect(numbers.overtimeMin.after).toBe(numbers.overtimeMin.before)
    expect(numbers.cooling.after).toEqual(numbers.cooling.before)
  })

  it('of a press that is down moves its loads to the other press or later, never onto it', async () => {
    const [fromAt, toAt] = [wall('2027-03-22T07:00'), wall('2027-03-22T15:00')]
    const trial = await made({ kind: 'machine-down', machine: 'PA', fromAt, toAt, why: 'bladder' })
    const { tasks } = await planned(trial.id)
    const on = tasks.filter(
      (t) => t.machines.includes('PA') && t.state !== 'done' && t.startAt < toAt && t.endAt > fromAt,
    )
    expect(on.map((t) => [t.key, local(t.startAt)])).toEqual([])
  })

  it('of a person away gives none of their hours work to them', async () => {
    const [fromAt, toAt] = [wall('2027-03-24T00:00'), wall('2027-03-25T00:00')]
    const trial = await made({ kind: 'away', person: 'kim', fromAt, toAt, reason: 'ill' })
    const { tasks, numbers } = await planned(trial.id)
    const theirs = tasks.filter(
      (t) => t.people.includes('kim') && t.crewMin > 0 && t.startAt >= fromAt && t.startAt < toAt,
    )
    expect(theirs.map((t) => t.key)).toEqual([])
    const kim = numbers.byPerson.find((p) => p.personId === 'kim')!
    expect(kim.after).toBeLessThan(kim.before)
  })

  it('of somebody who stays has them there until then, at the price of these hours; adopted and taken back at once', async () => {
    await demo.aside(async (here) => {
      const story = storyOf(here)
      // A load of L03 for PA takes 45 min: from 16:30 on it ends at 17:15. Who drives the forklift on Mondays: Sam until 14:00,
      // Alex until 17:00.
      expect((await story.bookMachine('PA', wall('2027-03-22T07:00'), wall('2027-03-22T16:30'), 'torn')).status).toBe(
        200,
      )
      const hard = async () => (await story.broken()).filter((b) => b.strength === 'hard').map((b) => b.words)
      const lacking = await hard()
      expect(lacking.filter((w) => /forklift/.test(w)).length).toBeGreaterThan(0)
      const alex = here.as('alex')
      const stay = { kind: 'stay', person: 'alex', on: '2027-03-22', untilMin: 19 * 60 }
      const { trial } = (await alex<{ trial: TrialWire }>('POST', '/api/trials', { changes: [stay] })).body
      expect(trial.words).toEqual(['Alex stays until 19:00 on Mon 22 Mar'])
      const { numbers } = (await alex<TrialPlan>('GET', `/api/trials/${trial.id}/plan`)).body
      expect(numbers.brokenHard.after).toBeLessThan(numbers.brokenHard.before)
      expect(numbers.overtimeMin.after).toBeGreaterThan(numbers.overtimeMin.before)
      const taken = await alex<{ trial: TrialWire }>('POST', `/api/trials/${trial.id}/adopt`, {
        version: trial.version,
      })
      expect(taken.status).toBe(200)
      expect((await hard()).length).toBeLessThan(lacking.length)
      const shifts = async () =>
        (
          await alex<{ people: { id: string; shifts: { fromOn?: string }[] }[] }>('GET', '/api/people')
        ).body.people.find((p) => p.id === 'alex')!.shifts
      expect((await shifts()).at(-1)).toMatchObject({
        startMin: 420,
        endMin: 1140,
        fromOn: '2027-03-22',
        untilOn: '2027-03-22',
      })
      const back = await alex('POST', `/api/trials/${trial.id}/undo`, { version: taken.body.trial.version })
      expect(back.status).toBe(200)
      expect((await shifts()).some((s) => s.fromOn === '2027-03-22')).toBe(false)
    })
  })

  it('of somebody who stays is not adopted once their hours have become others than 12 h allow', async () => {
    await demo.aside(async (here) => {
      const alex = here.as('alex')
      type Made = { trial: TrialWire }
      // Robin on Thursday, 7:00 to 17:00: until 19:00 are 12 h. Then Robin comes at 6:00: they would be 13.
      const stay = { kind: 'stay', person: 'robin', on: '2027-03-25', untilMin: 19 * 60 }
      const { trial } = (await alex<Made>('POST', '/api/trials', { changes: [stay] })).body
      type People = { people: { id: string; name: string; role: string; skills: string[]; version: number }[] }
      const { id, name, role, skills, version } = (await alex<People>('GET', '/api/people')).body.people.find(
        (p) => p.id === 'robin',
      )!
      const shifts = [{ weekdays: [1, 3, 4, 5, 6, 7], startMin: 6 * 60, endMin: 16 * 60 }]
      expect((await alex('PUT', `/api/people/${id}`, { name, role, skills, version, shifts })).status).toBe(200)
      const taken = await alex<ProblemBody>('POST', `/api/trials/${trial.id}/adopt`, { version: trial.version })
      expect(taken.status).toBe(409)
      expect((await alex<Made>('GET', `/api/trials/${trial.id}`)).body.trial.state).toBe('open')
    })
  })

  it('of somebody who stays is refused on a day off, and beyond 12 h of work', async () => {
    const no = async (change: object) => {
      const { status, body } = await call<ProblemBody>('POST', '/api/trials', {
        changes: [{ kind: 'stay', person: 'alex', on: '2027-03-22', untilMin: 1080, ...change }],
      })
      return [status, body.errors?.[0]?.pointer]
    }
    expect(await no({ person: 'kim' })).toEqual([422, '#/changes/0/on'])
    expect(await no({ untilMin: 1170 })).toEqual([422, '#/changes/0/untilMin'])
    expect(await no({ untilMin: 1020 })).toEqual([422, '#/changes/0/untilMin'])
  })

  it('of more fruit shows the new lot’s work, and the press and cold it asks for', async () => {
    // 12 t of machine-picked fruit like L12 on Saturday 27 March; a load of destemmed fruit on PA is at most 6 t.
    const trial = await made({ kind: 'more-fruit', like: 'L12', code: 'L40', on: '2027-03-27', tonnes: 12 })
    const { tasks, numbers } = await planned(trial.id)
    const own = tasks.filter((t) => t.lotCode === 'L40')
    expect(own.length).toBeGreaterThan(20)
    expect(own.filter((t) => t.step === 'press').length).toBeGreaterThanOrEqual(2)
    expect(numbers.added).toBe(own.length)
    expect(numbers.press.after!.hours).toBeGreaterThanOrEqual(numbers.press.before!.hours)
    expect(numbers.finish.find((f) => f.lotCode === 'L40')!.finish.before).toBeNull()
  })

  it('of a warmer ferment ends it sooner', async () => {
    const trial = await made({ kind: 'choices', lot: 'L04', choices: { fermentTempC: 22, fermentEndTempC: 22 } })
    const { numbers } = await planned(trial.id)
    const { dry } = numbers.finish.find((f) => f.lotCode === 'L04')!
    expect(Date.parse(dry.after!)).toBeLessThan(Date.parse(dry.before!))
  })

  it('of another vessel lets the juice run there, and says so on both sides', async () => {
    // L04 settles 3,100 L; T04 holds 6,500 L and is promised to nobody before L07 on the 30th.
    const before = (await demo.task('L04/press/1')).toVessels
    expect(before).not.toEqual(['T04'])
    const plan = await planned((await made({ kind: 'vessel', lot: 'L04', hold: 'settle', vessels: ['T04'] })).id)
    expect(plan.tasks.find((t) => t.key === 'L04/press/1')!.toVessels).toEqual(['T04'])
    expect((await demo.task('L04/press/1')).toVessels).toEqual(before)
  })

  it('refuses what the cellar has not, each at its field', async () => {
    const wrong = async (change: unknown) => {
      const { status, body } = await call<ProblemBody>('POST', '/api/trials', { changes: [change] })
      return [status, body.errors?.[0]?.pointer]
    }
    const span = { fromAt: wall('2027-03-22T07:00'), toAt: wall('2027-03-22T06:00') }
    expect(await wrong({ kind: 'pick', lot: 'L99', pickOn: '2027-03-23' })).toEqual([422, '#/changes/0/lot'])
    expect(await wrong({ kind: 'pick', lot: 'L04', pickOn: '9999-03-23' })).toEqual([422, '#/changes/0/pickOn'])
    expect(await wrong({ kind: 'away', person: 'kim', ...span })).toEqual([422, '#/changes/0/toAt'])
    expect(await wrong({ kind: 'machine-down', machine: 'ZZ', ...span })).toEqual([422, '#/changes/0/machine'])
    expect(await wrong({ kind: 'choices', lot: 'L04', choices: { fermentTempC: 99 } })).toEqual([
      422,
      '#/changes/0/choices/fermentTempC',
    ])
    expect(await wrong({ kind: 'choices', lot: 'L04', choices: { colour: 'blue' } })).toEqual([
      422,
      '#/changes/0/choices/colour',
    ])
    expect(await wrong({ kind: 'more-fruit', like: 'L12', code: 'L01', on: '2027-03-27', tonnes: 2 })).toEqual([
      422,
      '#/changes/0/code',
    ])
    expect(await wrong({ kind: 'vessel', lot: 'L04', hold: 'settle', vessels: ['T99'] })).toEqual([
      422,
      '#/changes/0/vessels/0',
    ])
    expect(await wrong({ kind: 'move', taskKey: 'L04/dance/1', startAt: wall('2027-03-23T08:00') })).toEqual([
      422,
      '#/changes/0/taskKey',
    ])
  })
})

describe('adopting a trial', () => {
  it('makes its changes facts, as the trial said, and one undo takes all of them back', () =>
    demo.aside(async (here) => {
      const lead = here.as('alex')
      const trial = (
        await lead<{ trial: TrialWire }>('POST', '/api/trials', {
          name: 'A hot week',
          changes: [
            { kind: 'pick', lot: 'L07', pickOn: '2027-03-29' },
            { kind: 'fruit', lot: 'L07', fruit: { tonnes: 6.4 } },
            { kind: 'choices', lot: 'L07', choices: { settleH: 30 } },
            { kind: 'vessel', lot: 'L04', hold: 'settle', vessels: ['T02'] },
            { kind: 'away', person: 'robin', fromAt: wall('2027-03-25T00:00'), toAt: wall('2027-03-26T00:00') },
            {
              kind: 'machine-down',
              machine: 'FL',
              fromAt: wall('2027-03-25T08:00'),
              toAt: wall('2027-03-25T09:00'),
              why: 'seal',
            },
          ],
        })
      ).body.trial
      const wanted = (await lead<TrialPlan>('GET', `/api/trials/${trial.id}/plan`)).body
      const adopted = await lead<{ trial: TrialWire }>('POST', `/api/trials/${trial.id}/adopt`, {
        version: trial.version,
      })
      expect(adopted.status).toBe(200)
      expect(adopted.body.trial).toMatchObject({ state: 'adopted', decidedBy: 'alex' })
      expect(stand(await here.tasks())).toEqual(stand(wanted.tasks))
      const lot = (await lead<{ lot: Record<string, unknown> }>('GET', '/api/lots/L07')).body.lot
      expect(lot).toMatchObject({ pickOn: '2027-03-29', fruit: { tonnes: 6.4 }, choices: { settleH: 30 } })

      const again = await lead<ProblemBody>('POST', `/api/trials/${trial.id}/adopt`, { version: 2 })
      expect([again.status, again.body.type]).toEqual([409, 'trial-adopted'])

      const back = await lead<{ trial: TrialWire }>('POST', `/api/trials/${trial.id}/undo`, { version: 2 })
      expect(back.body.trial.state).toBe('undone')
      const after = (await lead<{ lot: Record<string, unknown> }>('GET', '/api/lots/L07')).body.lot
      expect(after).toMatchObject({ pickOn: '2027-03-30', fruit: { tonnes: 5.8 } })
      expect((after.choices as { settleH?: number }).settleH).toBe(40)
      const people = (await lead<{ people: { id: string; absences: unknown[] }[] }>('GET', '/api/people')).body.people
      expect(people.find((p) => p.id === 'robin')!.absences).toEqual([])
      const machines = (await lead<{ machines: { id: string; bookings: unknown[] }[] }>('GET', '/api/machines')).body
      expect(machines.machines.find((m) => m.id === 'FL')!.bookings).toEqual([])
    }))

  it('keeps what was unticked where it stands, pinned with who and why', () =>
    demo.aside(async (here) => {
      const lead = here.as('alex')
      const [fromAt, toAt] = [wall('2027-03-24T00:00'), wall('2027-03-25T00:00')]
      const trial = (
        await lead<{ trial: TrialWire }>('POST', '/api/trials', {
          changes: [{ kind: 'away', person: 'kim', fromAt, toAt }],
        })
      ).body.trial
      const plan = (await lead<TrialPlan>('GET', `/api/trials/${trial.id}/plan`)).body
      const own = plan.changed.filter((t) => !t.gone && t.fromStartAt && !t.fromPeople.includes('kim') && t.crew > 0)
      const keep = own[0] ?? plan.changed.find((t) => !t.gone && t.fromStartAt)!
      const before = await here.task(keep.key)
      await lead('POST', `/api/trials/${trial.id}/adopt`, { version: 1, keep: [keep.key] })
      const after = await here.task(keep.key)
      expect(after).toMatchObject({ startAt: before.startAt, people: before.people, pinned: true })
      const history = (
        await lead<{ history: { taskKey?: string; words: string; personId?: string }[] }>(
          'GET',
          `/api/lots/${after.lotId ?? 'L04'}`,
        )
      ).body.history
      if (after.lotId)
        expect(history.find((h) => h.taskKey === keep.key && h.words.startsWith('Fixed'))?.personId).toBe('alex')
    }))

  it('is refused to be taken back where somebody has changed the same thing since, and nothing of it is', () =>
    demo.aside(async (here) => {
      const lead = here.as('alex')
      const trial = (
        await lead<{ trial: TrialWire }>('POST', '/api/trials', {
          changes: [
            { kind: 'pick', lot: 'L08', pickOn: '2027-04-28' },
            { kind: 'away', person: 'robin', fromAt: wall('2027-04-25T00:00'), toAt: wall('2027-04-26T00:00') },
          ],
        })
      ).body.trial
      await lead('POST', `/api/trials/${trial.id}/adopt`, { version: 1 })
      const { lot } = (await lead<{ lot: Record<string, unknown> }>('GET', '/api/lots/L08')).body
      const { name, variety, block, place, vintage, fruit, version } = lot
      await lead('PUT', '/api/lots/L08', { name, variety, block, place, vintage, fruit, version, pickOn: '2027-04-30' })
      const back = await lead<ProblemBody>('POST', `/api/trials/${trial.id}/undo`, { version: 2 })
      expect([back.status, back.body.type, back.body.detail]).toEqual([
        409,
        'changed-since',
        'L08 was changed since. Change it by hand where it stands now.',
      ])
      const people = (await lead<{ people: { id: string; absences: unknown[] }[] }>('GET', '/api/people')).body.people
      expect(people.find((p) => p.id === 'robin')!.absences).toHaveLength(1)
    }))

  it('asks for a reason where the answers do not go together, as changing them by hand does', async () => {
    const trial = await made({ kind: 'choices', lot: 'L04', choices: { malolactic: 'after', firstSo2: 'at-once' } })
    const byHand = await call<ProblemBody>('PUT', '/api/lots/L04/choices', {
      version: 1,
      choices: {
        ...(await call<{ lot: { choices: object } }>('GET', '/api/lots/L04')).body.lot.choices,
        malolactic: 'after',
        firstSo2: 'at-once',
      },
      signed: [],
    })
    const adopted = await call<ProblemBody>('POST', `/api/trials/${trial.id}/adopt`, { version: 1 })
    expect(adopted.status).toBe(422)
    expect(adopted.body.conflicts!.map((c) => c.id)).toEqual(byHand.body.conflicts!.map((c) => c.id))
    expect((await call<{ trial: TrialWire }>('GET', `/api/trials/${trial.id}`)).body.trial.state).toBe('open')
  })

  it('is for those who lead; everybody may look', async () => {
    const trial = await made({ kind: 'pick', lot: 'L04', pickOn: '2027-03-25' })
    const kim = demo.as('kim')
    expect((await kim('GET', '/api/trials')).status).toBe(200)
    expect((await kim('POST', '/api/trials', { changes: trial.changes })).status).toBe(403)
    expect((await kim('POST', `/api/trials/${trial.id}/adopt`, { version: 1 })).status).toBe(403)
    expect((await kim('DELETE', `/api/trials/${trial.id}`)).status).toBe(403)
    expect((await call<{ trial: TrialWire }>('DELETE', `/api/trials/${trial.id}`)).body.trial.state).toBe('dropped')
    expect((await call<ProblemBody>('POST', `/api/trials/${trial.id}/adopt`, { version: 2 })).status).toBe(409)
  })
})
