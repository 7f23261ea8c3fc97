import { describe, expect, it } from 'vitest'
import type { Choices, Style } from '../../api/protocol/choices.ts'
import type { Facts, Fruit, Reading, TaskFact } from '../../api/protocol/facts.ts'
import { fermentOf } from '../../api/protocol/forecast.ts'
import { pressLoads } from '../../api/protocol/loads.ts'
import { buildNetwork, type Network } from '../../api/protocol/network.ts'
import { minOf, settingOf } from '../../api/protocol/setting.ts'
import { ticksOf } from '../../api/protocol/ticks.ts'
import { Temporal } from '../../api/time.ts'
import { EARLY, makeFacts, makeLot } from '../helpers/make.ts'

interface Wish {
  readonly choices?: Partial<Choices>
  readonly fruit?: Partial<Fruit>
  readonly taskFacts?: readonly TaskFact[]
  readonly readings?: readonly Reading[]
  readonly nowAt?: Temporal.Instant
  readonly facts?: Partial<Facts>
}

function networkOf(style: Style, wish: Wish = {}): Network {
  const lot = makeLot(style, { choices: wish.choices, fruit: wish.fruit })
  const facts: Facts = {
    ...makeFacts([lot]),
    taskFacts: wish.taskFacts ?? [],
    readings: wish.readings ?? [],
    ...wish.facts,
  }
  const ground = {
    facts,
    startAt: EARLY,
    nowAt: wish.nowAt ?? EARLY,
    ticks: ticksOf(facts.taskFacts),
    placed: new Map(),
  }
  const setting = settingOf(lot, ground)
  const pitched = ground.ticks.get('X01/inoculate/1')?.done?.at
  return buildNetwork(setting, fermentOf(setting, pitched && minOf(setting, pitched)))
}

const stepsOf = (n: Network) => new Set(n.works.map((w) => w.step))
const of = (n: Network, key: string) => n.works.find((w) => w.task.key === `X01/${key}`)
const links = (n: Network, prev: string, next: string) =>
  n.links.filter((l) => l.prev === `X01/${prev}` && l.next === `X01/${next}`)
const at = (text: string) => Temporal.Instant.from(text)
const done = (key: string, atText: string, own: Partial<TaskFact> = {}): TaskFact => ({
  id: `${key} ${atText}`,
  taskKey: `X01/${key}`,
  kind: 'done',
  at: at(atText),
  ...own,
})
const read = (kind: Reading['kind'], value: number, takenAt: string, own: Partial<Reading> = {}): Reading => ({
  id: `${kind} ${takenAt}`,
  lotId: 'X01',
  kind,
  value,
  takenAt: at(takenAt),
  ...own,
})

describe('each branch has its own list of tasks', () => {
  it('skins in the ferment: cap work, seal and press off in place of press, settle, rack', () => {
    const steps = stepsOf(networkOf('orange'))
    for (const step of ['work-cap', 'seal-skins', 'press-skins', 'clean-press', 'check-dry', 'mlf-done', 'post-so2'])
      expect(steps).toContain(step)
    for (const step of ['press', 'settle', 'rack-juice', 'load-press', 'chill-juice']) expect(steps).not.toContain(step)
  })

  it('barrels: prepared, filled, looked at, levelled, topped, racked out, stored; no set points', () => {
    const steps = stepsOf(networkOf('textured'))
    for (const step of [
      'prep-barrels',
      'fill-barrels',
      'check-leaks',
      'level-barrels',
      'top-barrels',
      'check-va',
      'rack-out',
      'store-barrels',
      'regas-empty',
    ])
      expect(steps).toContain(step)
    expect(steps).not.toContain('set-cooling')
    expect(steps).not.toContain('check-ullage')
  })

  it('ambient yeast is watched, not pitched', () => {
    const steps = stepsOf(networkOf('textured'))
    expect(steps).toContain('watch-start')
    expect(steps).not.toContain('inoculate')
  })

  it('a stop is watched, chilled, sulphited and checked again; no malolactic, no dryness', () => {
    const n = networkOf('offdry', { choices: { malolactic: 'after' } })
    const steps = stepsOf(n)
    for (const step of ['watch-stop', 'stop-chill', 'stop-so2', 're-check-stop', 'filter-membrane'])
      expect(steps).toContain(step)
    for (const step of ['check-dry', 'mlf-inoculate', 'mlf-done', 'post-so2', 'rack-gross'])
      expect(steps).not.toContain(step)
  })

  it('the cold begins before the stop point is reached, and only in a jacket', () => {
    const n = networkOf('offdry')
    const from = Number(/at about (\d+) g\/L/.exec(of(n, 'stop-chill/1')!.detail)?.[1])
    expect(from).toBeGreaterThan(20)
    const hold = n.holds.find((h) => h.key === of(n, 'stop-so2/1')!.to[0])!
    expect(hold.candidates.length).toBeGreaterThan(0)
  })

  it('sweet wine in wood goes back to a jacketed tank before it is stopped', () => {
    const n = networkOf('sweet', {
      choices: { vessel: 'used-barrel' },
      fruit: { tonnes: 1.6, brix: 33.5, yieldLPerT: 420 },
    })
    expect(links(n, 'rack-out/9', 'stop-chill/1')).not.toEqual([])
    const tank = n.holds.find((h) => h.key === 'X01/stop')!
    const jackets = makeFacts([]).vessels.filter((v) => tank.candidates.includes(v.id))
    expect(jackets.length).toBeGreaterThan(0)
    expect(jackets.every((v) => v.jacket)).toBe(true)
  })

  it('malolactic wanted: first SO2 waits for malic gone', () => {
    const n = networkOf('textured')
    expect(links(n, 'mlf-done/1', 'post-so2/1')).not.toEqual([])
    expect(stepsOf(n)).toContain('mlf-inoculate')
    expect(stepsOf(n)).not.toContain('mlf-block')
  })

  it('malolactic refused: SO2 and cold after dryness, and malic watched every 28 days', () => {
    const n = networkOf('crisp')
    expect(links(n, 'check-dry/1', 'post-so2/1')[0]?.minLagMin).toBe(1440)
    expect(stepsOf(n)).toContain('mlf-block')
    expect(stepsOf(n)).not.toContain('mlf-warm')
    expect(links(n, 'mlf-check/1', 'mlf-check/2').some((l) => l.minLagMin > 27 * 1440)).toBe(true)
  })

  it('co-inoculated bacteria follow the yeast, not the dryness', () => {
    const n = networkOf('neutral', { choices: { malolactic: 'co' } })
    expect(links(n, 'inoculate/1', 'mlf-inoculate/1')).not.toEqual([])
    expect(links(n, 'check-dry/1', 'mlf-inoculate/1')).toEqual([])
  })

  it('sparkling base: two receivers before the press, two fractions until the blend, tirage instead of a line', () => {
    const n = networkOf('sparkling', { fruit: { yieldLPerT: 635 } })
    expect(of(n, 'press/1')!.to).toEqual(['X01/settle', 'X01/settle-2'])
    expect(of(n, 'rack-juice/2')!.volumeL).toBeCloseTo(4 * 125, 0)
    expect(stepsOf(n)).toContain('blend')
    expect(stepsOf(n)).not.toContain('filter-membrane')
    expect(of(n, 'test-stability/2')).toBeDefined()
  })

  it('flotation in place of settling, nothing in place of either', () => {
    expect(stepsOf(networkOf('neutral'))).toContain('float')
    expect(stepsOf(networkOf('neutral'))).not.toContain('settle')
    const none = stepsOf(networkOf('crisp', { choices: { clarification: 'none' } }))
    expect(none).not.toContain('settle')
    expect(none).not.toContain('check-clarity')
  })

  it('vineyard starter is made days before, non-Saccharomyces gets selected yeast after it', () => {
    expect(stepsOf(networkOf('crisp', { choices: { yeast: 'vineyard-starter' } }))).toContain('starter')
    expect(of(networkOf('crisp', { choices: { yeast: 'non-saccharomyces' } }), 'inoculate/2')).toBeDefined()
  })

  it('lees kept: no racking; stirred weekly, then every two weeks, until four weeks before racking out', () => {
    const n = networkOf('textured')
    expect(stepsOf(n)).not.toContain('rack-gross')
    expect(links(n, 'stir-lees/1', 'stir-lees/2')[0]!.minLagMin).toBeLessThan(7 * 1440)
    expect(links(n, 'stir-lees/9', 'stir-lees/10')[0]!.minLagMin).toBeGreaterThan(13 * 1440)
  })

  it('oak pieces go in and come out; no stabilisation asks for no trial, no cold', () => {
    expect(stepsOf(networkOf('neutral', { choices: { oak: 'pieces', oakPiecesGPerL: 1.5 } }))).toContain('oak-out')
    const bare = stepsOf(networkOf('orange'))
    for (const step of ['trial-fining', 'cold-stab', 'filter-coarse']) expect(bare).not.toContain(step)
  })

  it('two parts of a lot lie in their own vessels and are blended', () => {
    const n = networkOf('crisp', {
      choices: {
        vesselParts: [
          { vessel: 'concrete', share: 0.5 },
          { vessel: 'jacketed-tank', share: 0.5 },
        ],
      },
      fruit: { tonnes: 3 },
    })
    expect(n.holds.map((h) => h.key)).toEqual(expect.arrayContaining(['X01/ferment', 'X01/ferment-2']))
    expect(stepsOf(n)).toContain('blend')
  })
})

describe('vessels', () => {
  it('a lot too large for one tank goes into two alike', () => {
    const n = networkOf('crisp', { fruit: { tonnes: 22, yieldLPerT: 700 } })
    const hold = n.holds.find((h) => h.key === 'X01/ferment')!
    expect(hold.count).toBe(2)
    const room = makeFacts([]).vessels.filter((v) => hold.candidates.includes(v.id))
    expect(room.every((v) => v.volumeL * 0.9 >= (22 * 700 * 0.94) / 2)).toBe(true)
  })

  it('a lot larger than all tanks has nowhere to go, and the hold says so', () => {
    const n = networkOf('crisp', { fruit: { tonnes: 400, yieldLPerT: 700 } })
    expect(n.holds.find((h) => h.key === 'X01/settle')!.candidates).toEqual([])
  })
})

describe('press loads', () => {
  const machines = makeFacts([]).machines
  const tonnes = (t: number, entering: 'wholeBunchT' | 'destemmedT', program: Choices['pressProgram']) =>
    pressLoads(t, entering, program, machines).map((l) => [l.presses[0], Math.round(l.tonnes * 10) / 10])

  it('follow the worked plans: 2 x 4.4 t, 2.2 + 1.0 + 2.2 t, 2.3 + 1.0 + 2.3 t', () => {
    expect(tonnes(8.8, 'destemmedT', 'standard')).toEqual([
      ['PA', 4.4],
      ['PA', 4.4],
    ])
    expect(tonnes(5.4, 'wholeBunchT', 'whole-bunch-gentle')).toEqual([
      ['PA', 2.2],
      ['PB', 1],
      ['PA', 2.2],
    ])
    expect(tonnes(5.6, 'wholeBunchT', 'sparkling-fractions')).toEqual([
      ['PA', 2.3],
      ['PB', 1],
      ['PA', 2.3],
    ])
  })

  it('never lie over the most, and say when they lie under the least', () => {
    for (const t of [0.1, 0.3, 0.5, 1, 2, 3, 7, 13, 30, 60])
      for (const load of pressLoads(t, 'wholeBunchT', 'standard', machines)) {
        const range = machines.find((m) => m.id === load.presses[0])!.press!.wholeBunchT!
        expect(load.tonnes).toBeLessThanOrEqual(range[1] + 1e-9)
        expect(load.tonnes < range[0] - 1e-9).toBe(load.outside !== undefined)
      }
  })
})

describe('what happened counts', () => {
  const started = [done('rack-juice/1', '2027-03-18T00:00:00Z'), done('inoculate/1', '2027-03-18T05:00:00Z')]

  it('two readings under the limit a day apart make it dry; one does not', () => {
    const one = networkOf('crisp', {
      taskFacts: started,
      readings: [read('glucose-fructose', 1.5, '2027-03-29T00:00:00Z')],
      nowAt: at('2027-03-30T12:00:00Z'),
    })
    expect(one.ends.known).toBe(false)
    const two = networkOf('crisp', {
      taskFacts: started,
      readings: [
        read('glucose-fructose', 1.5, '2027-03-29T00:00:00Z'),
        read('glucose-fructose', 1.2, '2027-03-30T00:00:00Z'),
      ],
      nowAt: at('2027-03-30T12:00:00Z'),
    })
    expect(two.ends.known).toBe(true)
    expect(of(two, 'check-dry/1')!.forecast).toBe(false)
  })

  it('a corrected reading counts no more', () => {
    const readings = [
      read('glucose-fructose', 1.5, '2027-03-29T00:00:00Z'),
      read('glucose-fructose', 1.2, '2027-03-30T00:00:00Z'),
      read('glucose-fructose', 12, '2027-03-30T01:00:00Z', { correctsId: 'glucose-fructose 2027-03-30T00:00:00Z' }),
    ]
    expect(networkOf('crisp', { taskFacts: started, readings, nowAt: at('2027-03-30T12:00:00Z') }).ends.known).toBe(
      false,
    )
  })

  it('malic under 0.1 g/L ends malolactic', () => {
    const n = networkOf('textured', {
      readings: [read('malic', 0.07, '2027-05-20T00:00:00Z')],
      nowAt: at('2027-05-21T00:00:00Z'),
    })
    expect(of(n, 'mlf-done/1')!.forecast).toBe(false)
  })

  it('the next topping counts from the last one done, and one passed over is not asked for again', () => {
    const facts = [
      done('check-dry/1', '2027-04-10T00:00:00Z'),
      done('top-barrels/1', '2027-04-11T00:00:00Z'),
      done('top-barrels/3', '2027-04-27T00:00:00Z'),
    ]
    const n = networkOf('textured', { taskFacts: facts, nowAt: at('2027-04-28T00:00:00Z') })
    expect(of(n, 'top-barrels/2')).toBeUndefined()
    expect(links(n, 'top-barrels/3', 'top-barrels/4')).not.toEqual([])
  })

  it('a missing density round stays missing; the next one keeps its hour and its count', () => {
    const n = networkOf('crisp', { taskFacts: started, nowAt: at('2027-03-22T02:00:00Z') })
    const counts = n.works.filter((w) => w.step === 'check-ferment').map((w) => w.count)
    // Yeast went in on 18 March 18:00 in the cellar: the 22nd is day 4, its evening count 8.
    expect(Math.min(...counts)).toBe(8)
  })

  it('a round on the day the clock goes back stays at seven', () => {
    const n = networkOf('crisp', {
      taskFacts: [done('inoculate/1', '2027-04-01T04:00:00Z')],
      nowAt: at('2027-04-01T05:00:00Z'),
    })
    const morning = (count: number) => of(n, `check-ferment/${count}`)!.task.bias as { nearMin: number }
    // Count 5 is Sunday 4 April, 7 the Monday; the Saturday round and Sunday's lie 25 hours apart.
    expect(morning(5).nearMin - morning(3).nearMin).toBe(25 * 60)
    expect(morning(7).nearMin - morning(5).nearMin).toBe(24 * 60)
  })

  it('litres written at a transfer are what the doses stand on', () => {
    const lotFacts = {
      transfers: [
        {
          id: 't',
          lotId: 'X01',
          toVesselId: 'T05',
          volumeL: 2500,
          lossL: 140,
          movedAt: at('2027-03-18T00:00:00Z'),
          taskKey: 'X01/rack-juice/1',
        },
      ],
    }
    const n = networkOf('crisp', { facts: lotFacts })
    expect(of(n, 'inoculate/1')!.volumeL).toBe(2500)
    expect(of(n, 'inoculate/1')!.doses[0]!.amount).toBe(625)
  })

  it('work that later work has overtaken is asked for no more', () => {
    const n = networkOf('crisp', { taskFacts: started, nowAt: at('2027-03-20T00:00:00Z') })
    expect(of(n, 'book-pick/1')).toBeUndefined()
    expect(of(n, 'rack-juice/1')).toBeDefined()
    expect(of(n, 'check-dry/1')).toBeDefined()
  })
})

describe('every network', () => {
  const styles: readonly Style[] = ['crisp', 'textured', 'offdry', 'sparkling', 'orange', 'neutral', 'sweet']

  it.each(styles)('%s: links and holds name tasks that are there, keys are unique', (style) => {
    const n = networkOf(style)
    const keys = n.works.map((w) => w.task.key)
    expect(new Set(keys).size).toBe(keys.length)
    const here = new Set(keys)
    expect(n.links.filter((l) => !here.has(l.prev) || !here.has(l.next))).toEqual([])
    expect(n.holds.filter((h) => !here.has(h.from.task) || !here.has(h.to.task))).toEqual([])
  })

  it.each(styles)('%s: every dose tells its arithmetic and its litres', (style) => {
    for (const dose of networkOf(style).works.flatMap((w) => w.doses)) {
      expect(dose.amount).toBeGreaterThan(0)
      expect(dose.volumeL).toBeGreaterThan(0)
      expect(dose.arithmetic).toContain('=')
    }
  })

  it.each(styles)('%s: ends with a release', (style) => {
    expect(stepsOf(networkOf(style))).toContain('release')
  })
})
