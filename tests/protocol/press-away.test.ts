import { describe, expect, it } from 'vitest'
import type { Facts, Machine, TaskFact } from '../../api/protocol/facts.ts'
import { fermentOf } from '../../api/protocol/forecast.ts'
import { buildNetwork } from '../../api/protocol/network.ts'
import { type Ground, settingOf } from '../../api/protocol/setting.ts'
import { loadsThere } from '../../api/protocol/stages/press-away.ts'
import { ticksOf } from '../../api/protocol/ticks.ts'
import { Temporal, wallTimeAt } from '../../api/time.ts'
import { EARLY, makeFacts, makeLot } from '../helpers/make.ts'

/*
 * 5.4 t of whole bunches, cut from 06:00 and on the pad from 06:30 of Wed 17 March. PA takes 2.4 t, PB 1.1 t, both press
 * 3.25 h; 3 t are loaded in an hour, emptying is 0.5 h and rinsing 0.25 h. The last load is begun by 16:30, the press
 * empty by 23:00. With both presses: 2.4 + 1.1 + 2.4 = 5.9 t of room, each filled to 5.4 / 5.9: 2.197, 1.007, 2.197 t.
 */
const LOT = makeLot('textured', {
  fruit: { tonnes: 5.4 },
  choices: { pickMode: 'hand', pickHour: 6, fruitCooling: 'none', processing: 'whole-bunch', skinContactH: 0 },
})
const WITH_BOTH = ['PA 2.2', 'PB 1.01', 'PA 2.2']

const { zone } = makeFacts([]).cellar
const at = (clock: string, day = 17) => {
  const [h, m] = clock.split(':').map(Number)
  return wallTimeAt(Temporal.PlainDate.from(`2027-03-${day}`), h! * 60 + m!, zone)
}

interface Away {
  readonly press?: string
  readonly from: Temporal.Instant
  readonly to: Temporal.Instant
}

function groundOf(away: readonly Away[], own: { facts?: Partial<Facts>; worked?: Ground['worked'] } = {}): Ground {
  const facts = { ...makeFacts([LOT]), ...own.facts }
  const booked = (m: Machine) =>
    away.filter((a) => (a.press ?? 'PA') === m.id).map((a) => ({ fromAt: a.from, toAt: a.to, why: 'bladder torn' }))
  return {
    facts: { ...facts, machines: facts.machines.map((m) => ({ ...m, bookings: booked(m) })) },
    startAt: EARLY,
    nowAt: EARLY,
    ticks: ticksOf(facts.taskFacts),
    placed: new Map(),
    ...(own.worked ? { worked: own.worked } : {}),
  }
}

const loadsOf = (ground: Ground, lot = LOT) =>
  loadsThere(settingOf(lot, ground), 'wholeBunchT').map(
    (l) => `${l.presses.join(' or ')} ${Math.round(l.tonnes * 100) / 100}`,
  )

const allDay = { from: at('00:00'), to: at('00:00', 18) }

describe('a press that is away on the day', () => {
  it('keeps its loads where there is time for them all the same', () => {
    expect(loadsOf(groundOf([]))).toEqual(WITH_BOTH)
    // 2.2 t: 0.73 + 3.25 + 0.5 h, then the rinse: from 07:00 to 11:29 and from 11:44 to 16:13.
    expect(loadsOf(groundOf([{ from: at('05:00'), to: at('07:00') }]))).toEqual(WITH_BOTH)
    expect(loadsOf(groundOf([{ from: at('00:00', 16), to: at('23:00', 16) }]))).toEqual(WITH_BOTH)
    expect(loadsOf(groundOf([{ from: at('00:00', 18), to: at('00:00', 19) }]))).toEqual(WITH_BOTH)
  })

  const service = { from: at('07:00'), to: at('15:00') }
  // 4.5 t are two loads of 2.25 t on PA.
  const smaller = { ...LOT, fruit: { ...LOT.fruit, tonnes: 4.5 } }

  it('back at 15:00, has one load, and the other two: in the order in which they begin', () => {
    expect(loadsOf(groundOf([]), smaller)).toEqual(['PA 2.25', 'PA 2.25'])
    // PA 15:00; a second one would begin at 19:43. With an hour and a half to spare PB begins at 08:00 and 12:22; a third
    // would begin at 16:43. 2.4 + 2 x 1.1 = 4.6 t of room, filled to 4.5 / 4.6: 2.348 and 1.076 t.
    expect(loadsOf(groundOf([service]), smaller)).toEqual(['PB 1.08', 'PB 1.08', 'PA 2.35'])
  })

  it('back at 15:00, keeps what the two have no hours for together: 5.4 t are more than 4.6 t', () => {
    expect(loadsOf(groundOf([service]))).toEqual(WITH_BOTH)
  })

  it('away all day, gives everything to the other: five loads of 1.08 t, three a day', () => {
    const ground = groundOf([allDay])
    expect(loadsOf(ground)).toEqual(Array(5).fill('PB 1.08'))
    const s = settingOf(LOT, ground)
    const network = buildNetwork(s, fermentOf(s, undefined))
    const of = (step: string) => network.works.filter((w) => w.step === step)
    expect(network.holds.filter((h) => h.key.includes('/press-')).map((h) => h.candidates)).toEqual(
      Array(5).fill(['PB']),
    )
    expect(of('load-press').map((w) => w.task.key)).toEqual([1, 2, 3, 4, 5].map((n) => `X01/load-press/${n}`))
    // A load takes 0.36 + 3.25 + 0.5 + 0.25 = 4.36 h: begun at 06:30, 10:52 and 15:13; two more come with the next pass.
    expect(of('receive').map((w) => w.detail)).toEqual(['3.24 t', '2.16 t'])
    expect(of('book-pick')[0]!.detail).toContain('the presses take it in 2 days')
    // One wash, after PB's last load.
    expect(of('clean-press')).toHaveLength(1)
  })

  it('has them again once it is known to be back', () => {
    const networkOf = (ground: Ground) => {
      const s = settingOf(LOT, ground)
      return buildNetwork(s, fermentOf(s, undefined))
    }
    expect(networkOf(groundOf([]))).not.toEqual(networkOf(groundOf([allDay])))
    expect(networkOf(groundOf([{ ...allDay, to: at('06:00') }]))).toEqual(networkOf(groundOf([])))
  })

  it('keeps them where no other takes the fruit: none there, none at the site, all away', () => {
    const { machines, cellar } = makeFacts([])
    const alone = machines.filter((m) => m.id !== 'PB')
    expect(loadsOf(groundOf([allDay], { facts: { machines: alone } }))).toEqual(Array(3).fill('PA 1.8'))
    const apart = {
      cellar: { ...cellar, sites: [{ name: 'Hill', awayMin: 20 }] },
      machines: machines.map((m) => (m.id === 'PB' ? { ...m, site: 'Hill' } : m)),
    }
    expect(loadsOf(groundOf([allDay], { facts: apart }))).toEqual(Array(3).fill('PA 1.8'))
    expect(loadsOf(groundOf([allDay, { ...allDay, press: 'PB' }]))).toEqual(WITH_BOTH)
  })

  it('is missed on the day on which cooled fruit is pressed, not on that of the pick', () => {
    const cooled = {
      ...LOT,
      fruit: { ...LOT.fruit, fruitTempC: 20 },
      choices: { ...LOT.choices, fruitCooling: 'cold-room' as const, fruitCoolToC: 10 },
    }
    const nextDay = { from: at('00:00', 18), to: at('00:00', 19) }
    expect(loadsOf(groundOf([allDay]), cooled)).toEqual(WITH_BOTH)
    expect(loadsOf(groundOf([nextDay]), cooled)).toEqual(Array(5).fill('PB 1.08'))
  })
})

describe('what was begun before the press broke', () => {
  const started = (n: number, clock: string): TaskFact => ({
    id: `load ${n}`,
    taskKey: `X01/load-press/${n}`,
    kind: 'start',
    at: at(clock),
  })
  const broke = { from: at('11:00'), to: at('00:00', 18) }
  const begun = [started(1, '06:30'), started(2, '06:45')]
  // 2.2 t on PA and 1.01 t on PB are in. The other 2.2 t go on PB in two, once it is empty: at 11:05 and 15:27.
  const rest = ['PA 2.2', 'PB 1.01', 'PB 1.1', 'PB 1.1']

  it('stays; the rest of the fruit is split over who is there', () => {
    const worked = new Map([
      ['X01/load-press/1', ['PA']],
      ['X01/load-press/2', ['PB']],
    ])
    expect(loadsOf(groundOf([broke], { facts: { taskFacts: begun }, worked }))).toEqual(rest)
  })

  it('and remains so while the rest is begun', () => {
    const worked = new Map([
      ['X01/load-press/1', ['PA']],
      ['X01/load-press/2', ['PB']],
      ['X01/load-press/3', ['PB']],
    ])
    const taskFacts = [...begun, started(3, '11:20')]
    expect(loadsOf(groundOf([broke], { facts: { taskFacts }, worked }))).toEqual(rest)
  })

  it('known before the day, the split remains while its loads are begun', () => {
    const smaller = { ...LOT, fruit: { ...LOT.fruit, tonnes: 4.5 } }
    const service = { from: at('07:00'), to: at('15:00') }
    const worked = new Map([
      ['X01/load-press/1', ['PB']],
      ['X01/load-press/2', ['PB']],
    ])
    const taskFacts = [started(1, '06:30'), started(2, '10:50')]
    const then = groundOf([service], { facts: { taskFacts }, worked })
    expect(loadsOf(then, smaller)).toEqual(['PB 1.08', 'PB 1.08', 'PA 2.35'])
  })

  it('on the other press stays as it was once the first is back: no fruit is lost with the usual split', () => {
    // PA was away all day and 5.4 t were five loads of 1.08 t on PB; two are begun when PA is back at 11:00. Of the other
    // 3.24 t PA has one load at 11:00 and PB one at 15:13, once it is empty: 2.4 + 1.1 = 3.5 t of room, filled to
    // 3.24 / 3.5: 2.222 and 1.018 t, done by 19:19. Two loads on PA would end at 19:50.
    const worked = new Map([
      ['X01/load-press/1', ['PB']],
      ['X01/load-press/2', ['PB']],
    ])
    const taskFacts = [started(1, '06:30'), started(2, '10:52')]
    const back = { from: at('00:00'), to: at('11:00') }
    const split = ['PB 1.08', 'PB 1.08', 'PA 2.22', 'PB 1.02']
    expect(loadsOf(groundOf([back], { facts: { taskFacts }, worked }))).toEqual(split)
    // Back at 15:00 both have one load each, too.
    const later = { from: at('00:00'), to: at('15:00') }
    expect(loadsOf(groundOf([later], { facts: { taskFacts }, worked }))).toEqual(split)
    // And remains so while the rest is begun.
    const third = new Map([...worked, ['X01/load-press/3', ['PA']]])
    const further = [...taskFacts, started(3, '11:10')]
    expect(loadsOf(groundOf([back], { facts: { taskFacts: further }, worked: third }))).toEqual(split)
  })
})
