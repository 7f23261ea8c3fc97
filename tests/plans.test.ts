import { describe, expect, it } from 'vitest'
import { demoFacts } from '../api/demo/facts.ts'
import { planCellar } from '../api/plan.ts'
import { stepOf } from '../api/protocol/steps.ts'
import type { TaskPlan } from '../api/protocol/types.ts'
import { Temporal } from '../api/time.ts'
import { EARLY } from './helpers/make.ts'
import handed from './plans.values.json' with { type: 'json' }

interface Row {
  readonly step: string
  readonly startAt: string
  readonly hours: number
  readonly vessel: string
  readonly detail: string
  readonly repeatsUntil?: string
}

/** What a date hangs on, and how far the hand-written day may lie from the tool's, in hours, counted from there. */
const TOLERANCE: Readonly<Record<string, { readonly from: string; readonly hours: number; readonly why: string }>> = {
  'sample-block': { from: 'receive', hours: 30, why: 'a sample more or less a day' },
  'book-pick': { from: 'receive', hours: 6, why: 'the afternoon before' },
  ...group(
    [
      'prep-line',
      'receive',
      'inspect-fruit',
      'destem-crush',
      'load-press',
      'press',
      'dose-juice',
      'cut-fractions',
      'empty-press',
      'clean-line',
      'clean-press',
      'chill-juice',
      'settle',
    ],
    'receive',
    4,
    'a press day; several slots are equal',
  ),
  ...group(
    [
      'check-clarity',
      'rack-juice',
      'juice-panel',
      'warm-juice',
      'inoculate',
      'prep-barrels',
      'fill-barrels',
      'check-leaks',
    ],
    'receive',
    8,
    'the morning of racking',
  ),
  ...group(
    ['watch-start', 'check-ferment', 'set-cooling', 'feed-1', 'feed-2'],
    'receive',
    5 * 24,
    'by the pace of the ferment',
  ),
  ...group(['end-warm', 'level-barrels'], 'receive', 14 * 24, 'by the forecast of the ferment'),
  'check-dry': { from: 'receive', hours: 19 * 24, why: 'the forecast, inside its band' },
  ...group(
    [
      'top-tank',
      'rack-gross',
      'post-so2',
      'mlf-block',
      'mlf-warm',
      'mlf-inoculate',
      'top-barrels',
      'stir-lees',
      'check-ullage',
      'check-so2',
      'mlf-check',
    ],
    'check-dry',
    8 * 24,
    'counted from dry',
  ),
  'mlf-done': { from: 'mlf-inoculate', hours: 28 * 24, why: 'bacteria: half to double of three to six weeks' },
  'check-va': { from: 'check-dry', hours: 14 * 24, why: 'every 28 days' },
  'taste-all': { from: 'check-dry', hours: 40 * 24, why: 'monthly, a Friday' },
  ...group(
    [
      'blend-trial',
      'blend',
      'rack-out',
      'store-barrels',
      'trial-fining',
      'fine-bentonite',
      'cold-stab',
      'rack-fining',
      'test-stability',
      'filter-coarse',
      'pre-bottling',
      'final-so2',
      'release',
      'gas-adjust',
      'filter-membrane',
    ],
    'finish',
    3 * 24,
    'counted back from the booked day',
  ),
}

/** Rows that hang on something else than their step usually does. */
const HANGS_ON: Readonly<Record<string, string>> = {
  'P2 post-so2': 'mlf-done',
  'P2 check-so2': 'mlf-done',
  'P2 mlf-check': 'mlf-inoculate',
}

/** Washing is matched by what it is for, so it follows the fill it belongs to and has no date of its own. */
const FREE = new Set(['clean-tank'])

function group(steps: readonly string[], from: string, hours: number, why: string) {
  return Object.fromEntries(steps.map((step) => [step, { from, hours, why }]))
}

const wall = (text: string) => Temporal.PlainDateTime.from(text)
const hoursBetween = (a: Temporal.PlainDateTime, b: Temporal.PlainDateTime) => a.until(b).total({ unit: 'hours' })
const local = (task: TaskPlan) => task.startAt.toZonedDateTimeISO(handed.zone).toPlainDateTime()

/** Each hand-written row with the tool's task of the same work that lies nearest; one task stands for one row. */
function matched(rows: readonly Row[], tasks: readonly TaskPlan[], offsetOf: (row: Row) => number) {
  const free = new Set(tasks)
  return rows.map((row) => {
    const at = wall(row.startAt).add({ minutes: Math.round(offsetOf(row) * 60) })
    const found = [...free]
      .filter((t) => t.step === row.step)
      .sort((a, b) => Math.abs(hoursBetween(at, local(a))) - Math.abs(hoursBetween(at, local(b))))[0]
    if (found) free.delete(found)
    return { row, task: found }
  })
}

const demo = demoFacts()

describe.each(handed.plans)('worked plan $id: $title', (plan) => {
  const lot = demo.lots.find((l) => l.code === plan.lot)!
  const facts = { ...demo, lots: [lot] }
  const told = planCellar(facts, { nowAt: EARLY })
  const tasks = told.tasks.filter((t) => t.lotId === lot.id)
  const rows = plan.rows as readonly Row[]
  const first = (step: string) =>
    tasks.filter((t) => t.step === step).sort((a, b) => Temporal.Instant.compare(a.startAt, b.startAt))[0]
  const handFirst = (step: string) => rows.find((r) => r.step === step)

  /** How far the tool's anchor lies from the hand's: 0 for the pick and the booked day, the forecasts' difference else. */
  const shiftH = (anchor: string): number => {
    if (anchor === 'receive' || anchor === 'finish') return 0
    const hand = handFirst(anchor)
    const tool = first(anchor)
    return hand && tool ? hoursBetween(wall(hand.startAt), local(tool)) : 0
  }
  /** A set point changed after dryness hangs on it. */
  const afterDry = (row: Row) => row.step === 'set-cooling' && row.startAt > handFirst('check-dry')!.startAt
  const anchorOf = (row: Row) =>
    afterDry(row) ? 'check-dry' : (HANGS_ON[`${plan.id} ${row.step}`] ?? TOLERANCE[row.step]?.from ?? 'receive')
  const pairs = matched(rows, tasks, (row) => shiftH(anchorOf(row)))

  it('has every step that the winemaker wrote', () => {
    expect(rows.filter((row) => !tasks.some((t) => t.step === row.step)).map((row) => row.step)).toEqual([])
  })

  it('keeps the order of work that is linked', () => {
    const starts = (step: string) => ({ hand: handFirst(step), tool: first(step) })
    const wrong = [...new Set(rows.map((r) => r.step))].flatMap((step) =>
      stepOf(step)
        .after.filter((link) => link.scope === undefined && !FREE.has(link.prev))
        .flatMap((link) => {
          const prev = starts(link.prev)
          const next = starts(step)
          if (!prev.hand || !next.hand || !prev.tool || !next.tool) return []
          const handOrder = Math.sign(hoursBetween(wall(prev.hand.startAt), wall(next.hand.startAt)))
          const toolOrder = Math.sign(hoursBetween(local(prev.tool), local(next.tool)))
          return handOrder > 0 && toolOrder < 0 ? [`${link.prev} after ${step}`] : []
        }),
    )
    expect(wrong).toEqual([])
  })

  it('lies inside the windows that agree', () => {
    const differences = pairs.flatMap(({ row, task }) => {
      const allowed = TOLERANCE[row.step]
      if (!task || !allowed || FREE.has(row.step)) return []
      const offH = hoursBetween(wall(row.startAt), local(task)) - shiftH(anchorOf(row))
      return [
        {
          step: row.step,
          hand: row.startAt,
          tool: local(task).toString().slice(0, 16),
          offH: Math.round(offH * 10) / 10,
          shiftedH: Math.round(shiftH(anchorOf(row))),
          allowedH: allowed.hours,
          why: allowed.why,
        },
      ]
    })
    for (const d of differences.filter((x) => Math.abs(x.offH) > 1 || Math.abs(x.shiftedH) > 1))
      console.log(
        `${plan.id} ${d.step.padEnd(16)} hand ${d.hand} tool ${d.tool} ${String(d.offH).padStart(7)} h${d.shiftedH ? ` beyond ${d.shiftedH} h of its anchor` : ''} (allowed ${d.allowedH} h: ${d.why})`,
      )
    expect(differences.filter((d) => Math.abs(d.offH) > d.allowedH)).toEqual([])
  })

  it('says it is dry inside the band of the forecast, widened by three days', () => {
    const hand = wall(handFirst('check-dry')!.startAt)
    const band = told.forecasts.find((f) => f.lotId === lot.id)!.dryAt!
    const at = (moment: Temporal.Instant) => moment.toZonedDateTimeISO(handed.zone).toPlainDateTime()
    expect(hoursBetween(at(band.earliestAt), hand)).toBeGreaterThan(-72)
    expect(hoursBetween(hand, at(band.latestAt))).toBeGreaterThan(-72)
  })

  it('washes a vessel in the day before each filling', () => {
    for (const fill of tasks.filter((t) =>
      ['rack-juice', 'rack-gross', 'rack-fining', 'rack-out', 'filter-coarse'].includes(t.step),
    )) {
      const washes = tasks.filter(
        (t) =>
          t.step === 'clean-tank' &&
          hoursBetween(local(t), local(fill)) > 0 &&
          hoursBetween(local(t), local(fill)) <= 27,
      )
      expect(washes.length, `${fill.key} has no washing before it`).toBeGreaterThan(0)
    }
  })

  it('breaks no hard rule', () => {
    expect(told.broken.filter((b) => b.strength === 'hard').map((b) => b.words)).toEqual([])
  })
})

describe('what the worked plans expect', () => {
  const planOf = (code: string) =>
    planCellar({ ...demo, lots: demo.lots.filter((l) => l.code === code) }, { nowAt: EARLY }).tasks
  const of = (tasks: readonly TaskPlan[], key: string) => tasks.find((t) => t.key === key)!

  it('P1: nothing between 23:00 and 03:30', () => {
    const night = planOf('L01').filter(
      (t) => t.people.length > 0 && (local(t).hour >= 23 || local(t).hour * 60 + local(t).minute < 210),
    )
    expect(night.map((t) => t.key)).toEqual([])
  })

  it('P1: both trucks go to one press, 270 g of sulphite and 92 mL of enzyme each', () => {
    const tasks = planOf('L01')
    expect(of(tasks, 'L01/press/1').machines).toContain('PA')
    expect(of(tasks, 'L01/press/2').machines).toContain('PA')
    expect(of(tasks, 'L01/dose-juice/1').doses.map((d) => d.amount)).toEqual([270, 92.4])
  })

  it('P1: yeast 1,448 g, nitrogen 546 and 410 g, at the racked 5,790 L', () => {
    const tasks = planOf('L01')
    expect(of(tasks, 'L01/inoculate/1').doses[0]?.amount).toBeCloseTo(1448, -1)
    expect(of(tasks, 'L01/feed-1/1').doses[0]?.amount).toBeCloseTo(546, -1)
    expect(of(tasks, 'L01/feed-2/1').doses[0]?.amount).toBeCloseTo(410, -1)
  })

  it('P2: three rounds on two presses, 16 barrels at 203 L, first SO2 never before malolactic is declared', () => {
    const tasks = planOf('L03')
    expect(
      tasks
        .filter((t) => t.step === 'press')
        .map((t) => t.machines.find((m) => m.startsWith('P') && m !== 'P2' && m !== 'P3'))
        .sort(),
    ).toEqual(['PA', 'PA', 'PB'])
    expect(of(tasks, 'L03/fill-barrels/1').toVessels).toHaveLength(16)
    expect(of(tasks, 'L03/fill-barrels/1').detail).toContain('203 L')
    expect(
      Temporal.Instant.compare(of(tasks, 'L03/post-so2/1').startAt, of(tasks, 'L03/mlf-done/1').endAt),
    ).toBeGreaterThanOrEqual(0)
  })

  it('P4: two receivers before the press is loaded, 510 and 125 L a tonne kept apart until the blend', () => {
    const tasks = planOf('L05')
    expect(of(tasks, 'L05/press/1').toVessels).toHaveLength(2)
    expect(
      Temporal.Instant.compare(of(tasks, 'L05/clean-tank/1').endAt, of(tasks, 'L05/load-press/1').startAt),
    ).toBeLessThanOrEqual(0)
    expect(of(tasks, 'L05/rack-juice/1').fromVessels).not.toEqual(of(tasks, 'L05/rack-juice/2').fromVessels)
    expect(of(tasks, 'L05/rack-juice/1').detail).toContain('cuvee')
    expect(of(tasks, 'L05/rack-juice/2').detail).toContain('taille')
    expect(tasks.flatMap((t) => t.doses).some((d) => /ascorb|sorb/.test(d.product))).toBe(false)
  })
})
