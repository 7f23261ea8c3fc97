/** Changes 1 to 8 of a vintage: what comes, when, how much, how warm, and the press that breaks. */
import { beforeAll, describe, expect, it, vi } from 'vitest'
import type { TaskWire } from '../../../api/wire.ts'
import { type Demo, local, makeDemo, wall } from '../demo.ts'
import { dayOf, daysBetween, OPEN, type Story, storyOf } from './story.ts'

// Each lives through a vintage and plans the whole cellar several times: seconds alone, minutes on a busy machine.
vi.setConfig({ testTimeout: 300_000, hookTimeout: 300_000 })

let cellar: Demo

beforeAll(async () => {
  cellar = await makeDemo()
})

/** Each story on the same morning of Mon 22 March 2027, and taken back. */
const tells = (words: string, story: (told: Story) => Promise<void>) =>
  it(words, () => cellar.aside((demo) => story(storyOf(demo))))

describe('1: the pick is late by days', () => {
  tells(
    'slides the lot’s chain, keeps the bottling day, samples again before the new day, leaves today alone',
    async (told) => {
      // L07: 30 March -> 2 April, three days. Filled on 3 August either way.
      const before = await told.tasks()
      const was = new Map(before.map((t) => [t.key, t]))
      expect((await told.change('L07', { pickOn: '2027-04-02' })).status).toBe(200)
      const after = await told.open('L07')
      const now = new Map(after.map((t) => [t.key, t]))
      const moved = (key: string) => daysBetween(was.get(key)!.startAt, now.get(key)!.startAt)
      for (const step of ['receive', 'press', 'rack-juice', 'inoculate'])
        expect([step, moved(`L07/${step}/1`)]).toEqual([step, 3])
      expect(dayOf(now.get('L07/receive/1')!.startAt)).toBe('04-02')
      expect(dayOf(now.get('L07/release/1')!.startAt)).toBe(dayOf(was.get('L07/release/1')!.startAt))
      // A sample of the fruit within the last three days before the new pick.
      const samples = after
        .filter((t) => t.step === 'sample-block')
        .map((t) => daysBetween(t.startAt, wall('2027-04-02T06:00')))
      expect(Math.min(...samples.filter((d) => d >= 0))).toBeLessThanOrEqual(3)
      // Every one that moved says from where.
      expect(now.get('L07/press/1')!.change).toMatchObject({ fromStartAt: was.get('L07/press/1')!.startAt })
      const today = (await told.tasks()).filter(
        (t) => t.lotCode !== 'L07' && OPEN.includes(t.state) && dayOf(t.startAt) === '03-22',
      )
      expect(today.filter((t) => was.get(t.key)?.startAt !== t.startAt).map((t) => t.key)).toEqual([])
    },
  )
})

describe('2: the pick is pulled forward', () => {
  tells('puts the fruit, its press and its people a day sooner; what is not ready yet is due today', async (told) => {
    // L04: Wednesday 24 -> Tuesday 23 March. The pick must be booked before the fruit comes: that is today, the 22nd.
    const { lead } = told
    const trial = (
      await lead<{ trial: { id: string } }>('POST', '/api/trials', {
        name: 'Heat: Chardonnay west a day sooner, agreed with the grower',
        changes: [{ kind: 'pick', lot: 'L04', pickOn: '2027-03-23' }],
      })
    ).body.trial
    const { body } = await lead<{ trial: object; changed: TaskWire[] }>('POST', `/api/trials/${trial.id}/adopt`, {
      version: 1,
    })
    // The reason and who agreed are kept.
    expect(body.trial).toMatchObject({ state: 'adopted', decidedBy: 'alex', name: expect.stringContaining('Heat') })
    const own = new Map((await told.open('L04')).map((t) => [t.key, t]))
    const receive = own.get('L04/receive/1')!
    expect(dayOf(receive.startAt)).toBe('03-23')
    const booked = own.get('L04/book-pick/1')!
    expect([dayOf(booked.startAt), booked.state]).toEqual(['03-22', 'due'])
    expect(Date.parse(own.get('L04/prep-line/1')!.endAt)).toBeLessThanOrEqual(Date.parse(receive.startAt))
    const press = own.get('L04/press/1')!
    expect(press.machines.some((m) => m === 'PA' || m === 'PB')).toBe(true)
    expect(press.people.length).toBeGreaterThan(0)
  })
})

describe('3 and 6: rain in the pick, and fruit with rot', () => {
  tells(
    'adds sorting, challenges skin contact, and lets the load be split into a before and an after lot',
    async (told) => {
      // Hand-picked fruit with 4 h of skin contact, like L02. After the rain 8 % rot: over the 5 % of K23.
      const { lead } = told
      const like = (await told.lot('L02')).lot
      const fruit = { ...like.fruit, tonnes: 3, rotPct: 1 }
      const dry = {
        code: 'L30',
        name: 'Before the rain',
        variety: like.variety,
        pickOn: '2027-03-26',
        fruit,
        choices: like.choices,
        signed: [],
      }
      const made = await lead<{ conflicts?: { id: string }[] }>('POST', '/api/lots', dry)
      const signed = (made.body.conflicts ?? []).map((c) => ({ conflict: c.id, reason: 'as the lot it is like' }))
      if (made.status === 422) expect((await lead('POST', '/api/lots', { ...dry, signed })).status).toBe(201)
      expect((await told.open('L30')).some((t) => t.step === 'sort')).toBe(false)

      const wet = { ...dry, code: 'L31', name: 'After the rain', fruit: { ...fruit, tonnes: 1.2, rotPct: 8 }, signed }
      const first = await lead<{ conflicts?: { id: string }[] }>('POST', '/api/lots', wet)
      const all = [
        ...signed,
        ...(first.body.conflicts ?? []).map((c) => ({ conflict: c.id, reason: 'the winemaker decides' })),
      ]
      if (first.status === 422) expect((await lead('POST', '/api/lots', { ...wet, signed: all })).status).toBe(201)
      expect((await told.change('L30', { fruit: { tonnes: 1.8 } })).status).toBe(200)
      expect((await told.open('L31')).some((t) => t.step === 'sort')).toBe(true)
      const found = async (code: string) => (await told.lot(code)).lot.conflicts.map((c) => c.id)
      expect(await found('L31')).toContain('K23')
      expect(await found('L30')).not.toContain('K23')
      // The way out: no skin contact for the wet part, and more SO2 at the press.
      const dose = async () =>
        (await told.open('L31')).flatMap((t) => t.doses).filter((d) => /metabisulphite/.test(d.product))[0]?.amount ?? 0
      const before = await dose()
      const chosen = await told.choose('L31', { skinContactH: 0, so2CrushMgPerL: 80 }, all)
      expect(chosen.status).toBe(200)
      expect(await found('L31')).not.toContain('K23')
      expect(await dose()).toBeGreaterThan(before)
    },
  )
})

describe('4: more fruit than booked', () => {
  tells('computes litres and doses anew, and touches no dose that is in', async (told) => {
    // L04: 5.0 t -> 5.75 t, +15 %. 5.75 t x 620 L/t = 3,565 L of juice; each dose by volume grows by 15 %.
    const before = await told.lot('L04')
    const doses = (tasks: readonly TaskWire[]) =>
      new Map(
        tasks
          .filter((t) => t.step === 'dose-juice' && OPEN.includes(t.state))
          .flatMap((t) => t.doses.map((d) => [`${t.key} ${d.product}`, d.amount] as const)),
      )
    const was = doses(before.tasks)
    const done = (await told.tasks()).filter((t) => t.state === 'done').map((t) => [t.key, t.doses])
    expect((await told.change('L04', { fruit: { tonnes: 5.75 } })).status).toBe(200)
    const after = await told.lot('L04')
    expect(after.phases.find((p) => p.kind === 'settle')!.volumeL).toBeCloseTo(3565, 0)
    const now = doses(after.tasks)
    expect(was.size).toBeGreaterThan(0)
    for (const [key, amount] of was) expect([key, now.get(key)! / amount]).toEqual([key, expect.closeTo(1.15, 2)])
    expect((await told.tasks()).filter((t) => t.state === 'done').map((t) => [t.key, t.doses])).toEqual(done)
    // Who weighed before it changed is asked to look again.
    expect(after.tasks.find((t) => t.step === 'dose-juice' && OPEN.includes(t.state))!.doseWas).toBeDefined()
  })
})

describe('5: the fruit arrives hot', () => {
  tells(
    'takes longer to cool in the cold room, so the press starts later; the scale’s temperature is kept',
    async (told) => {
      // L04 is cooled overnight from 12 C; at 24 C there are 12 K more to take out.
      const before = await told.lot('L04')
      const cool = (tasks: readonly TaskWire[]) => tasks.find((t) => t.key === 'L04/cool-fruit/1')!
      const press = (tasks: readonly TaskWire[]) => tasks.find((t) => t.key === 'L04/press/1')!
      expect((await told.change('L04', { fruit: { fruitTempC: 24 } })).status).toBe(200)
      const after = await told.lot('L04')
      expect(cool(after.tasks).detail).toContain('24 to')
      const length = (t: TaskWire) => Date.parse(t.endAt) - Date.parse(t.startAt)
      expect(length(cool(after.tasks))).toBeGreaterThanOrEqual(length(cool(before.tasks)))
      expect(Date.parse(press(after.tasks).startAt)).toBeGreaterThanOrEqual(Date.parse(cool(after.tasks).endAt))
      expect(after.lot.fruit.fruitTempC).toBe(24)
    },
  )
})

describe('7: a truck waits', () => {
  tells(
    'shows the last moment at which fruit must be received, then that it is late; arrival and start are kept',
    async (told) => {
      const receive = await told.task('L03/receive/1')
      // Picked in the morning of the 22nd: a few hours, never the night.
      expect(dayOf(receive.latestAt)).toBe('03-22')
      expect(Date.parse(receive.latestAt)).toBeGreaterThan(Date.parse(receive.startAt))
      told.setNow('2027-03-22T15:00')
      await told.lead('POST', '/api/readings', { readings: [{ lot: 'L12', kind: 'temp', value: 16 }] })
      const broken = (await told.broken()).filter((b) => b.taskKeys.some((key) => key.startsWith('L03/receive/1')))
      expect((await told.task('L03/receive/1')).late || broken.length > 0).toBe(true)
      const told1 = await told.as('sam')('POST', '/api/tasks/L03/receive/1/done', {
        startAt: wall('2027-03-22T13:10'),
        at: wall('2027-03-22T14:40'),
        note: 'truck in at 12:50, waited for the scale',
      })
      expect(told1.status).toBe(200)
      const history = (await told.lot('L03')).history.find(
        (h) => h.taskKey === 'L03/receive/1' && h.personId === 'sam',
      )!
      expect(history.words).toContain('truck in at 12:50')
    },
  )
})

describe('7: two loads stand in the queue', () => {
  tells(
    'warm fruit is pressed within twelve hours of its first cut, what lies in the cold room waits',
    async (told) => {
      // L03 comes two days late, on Wed 24 March, the day of L04. Both are whole bunches: L03 is warm and was cut from 06:00,
      // so its last load is in a press by 18:00. L04 lies in the cold room and may wait for 36 h, until Thursday evening.
      expect((await told.change('L03', { pickOn: '2027-03-24' })).status).toBe(200)
      const loadsOf = async (code: string) => (await told.open(code)).filter((t) => t.step === 'load-press')
      const warm = await loadsOf('L03')
      const cold = await loadsOf('L04')
      // 5.4 t and 5.0 t over presses of 2.4 and 1.1 t: two rounds, three loads each.
      expect([warm.length, cold.length]).toEqual([3, 3])
      for (const t of warm)
        expect([t.key, local(t.startAt) >= '03-24 06:00', local(t.startAt) <= '03-24 18:00']).toEqual([
          t.key,
          true,
          true,
        ])
      for (const t of cold) expect([t.key, local(t.startAt) <= '03-25 23:00']).toEqual([t.key, true])
      // On each press the warm loads go first.
      for (const press of ['PA', 'PB']) {
        const last = (of: typeof warm) =>
          of
            .filter((t) => t.machines.includes(press))
            .map((t) => t.startAt)
            .sort()
        const [after, before] = [last(cold)[0], last(warm).at(-1)]
        if (after && before) expect([press, after > before]).toEqual([press, true])
      }
      // Its tank was sanitised on Sunday, its line made ready this morning: by Wednesday neither counts, and that is said.
      const said = (await told.broken()).map((b) => b.words).join('\n')
      expect(said).toMatch(/L03 press begins .* too late .*sanitised more than 24 h ago/)
      expect(said).not.toMatch(/L0[34] (weigh and receive fruit|load the press|press) is .* late/)
    },
  )
})

describe('8: the press breaks down', () => {
  tells(
    'leaves it empty until it is back; loads wait or go to the other press; what follows slides, and says why',
    async (told) => {
      const [fromAt, toAt] = [wall('2027-03-22T07:00'), wall('2027-03-22T15:00')]
      const before = new Map((await told.tasks()).map((t) => [t.key, t]))
      expect((await told.bookMachine('PA', fromAt, toAt, 'bladder torn, back at 15:00')).status).toBe(200)
      const after = await told.open()
      const onIt = after.filter((t) => t.machines.includes('PA') && t.startAt < toAt && t.endAt > fromAt)
      expect(onIt.map((t) => [t.key, local(t.startAt)])).toEqual([])
      // L03's loads that stood on PA in those hours stand elsewhere now.
      const hit = [...before.values()].filter(
        (t) => OPEN.includes(t.state) && t.machines.includes('PA') && t.startAt < toAt && t.endAt > fromAt,
      )
      expect(hit.length).toBeGreaterThan(0)
      const now = new Map(after.map((t) => [t.key, t]))
      for (const t of hit) {
        const next = now.get(t.key)!
        expect(next.startAt >= toAt || !next.machines.includes('PA')).toBe(true)
        // A load of more than 1.1 t of whole bunches does not fit PB: it cannot simply be put there.
        expect(next.machines).not.toContain('nothing')
      }
      expect(Date.parse(now.get('L03/settle/1')!.startAt)).toBeGreaterThan(
        Date.parse(before.get('L03/settle/1')!.startAt),
      )
      expect(now.get('L03/settle/1')!.change!.words).toMatch(/PA was changed|follows/)
      // PA takes 2.2 t at 15:00 and the last 2.2 t after 19:00. Nobody who drives the forklift is there after 17:00, on
      // Kim's day off. Rounds and washing give way to all the rest.
      const hard = async () => (await told.broken()).filter((b) => b.strength === 'hard').map((b) => b.words)
      expect(await hard()).toEqual(['nobody with forklift is free for L03 load the press'])
      // Away until Tuesday night: PB takes all 5.4 t in five loads of 1.08 t, in two passes of three and two loads.
      expect((await told.bookMachine('PA', toAt, wall('2027-03-23T23:00'), 'no bladder to be had')).status).toBe(200)
      const loads = (await told.open('L03')).filter((t) => t.step === 'load-press')
      expect(loads.map((t) => [t.detail, t.machines.includes('PB')])).toEqual(Array(5).fill(['1.08 t', true]))
      expect((await told.open('L03')).filter((t) => t.step === 'receive').map((t) => t.detail)).toEqual([
        '3.24 t',
        '2.16 t',
      ])
      expect(await hard()).toEqual([])
      // It is there after all: 2.2 + 1.0 + 2.2 t as before.
      expect((await told.unbookMachine('PA')).status).toBe(200)
      const again = (await told.open('L03')).filter((t) => t.step === 'load-press')
      expect(again.map((t) => [t.detail, t.machines.includes('PA')])).toEqual([
        ['2.2 t', true],
        ['1.01 t', false],
        ['2.2 t', true],
      ])
    },
  )
})
