import { describe, expect, it } from 'vitest'
import type { TaskWire } from '../../api/wire.ts'
import { layDays } from '../../web/timeline/days.ts'
import { buildModel, type Model, type SeasonPlan } from '../../web/timeline/model.ts'
import { beginMove, isMoved, keyedTo, moveTo, withFollowers } from '../../web/timeline/move.ts'
import { moveRules } from '../../web/timeline/rules.ts'
import { slotsFor } from '../../web/timeline/slots.ts'
import { judgeMove } from '../../web/timeline/verdict.ts'
import { moveWindow } from '../../web/timeline/window.ts'
import { wordsFor } from '../../web/timeline/words.ts'
import { DAY, HOUR, iso, person, plan, task } from './timeline-cases.ts'

// Monday 15 March 2027, 08:00 in a cellar without a change of clocks that week.
const ZONE = 'Europe/Berlin'
const MONDAY = Date.UTC(2027, 2, 15, 7)

function rulesOf() {
  const tasks = [
    task('L01/settle/1', MONDAY, 24, { name: 'Settle', next: ['L01/rack/1'] }),
    task('L01/rack/1', MONDAY + 26 * HOUR, 2, {
      name: 'Rack',
      prev: ['L01/settle/1'],
      next: ['L01/pitch/1'],
      people: ['kim'],
      machines: ['P1'],
      earliestAt: iso(MONDAY + 24 * HOUR),
      latestAt: iso(MONDAY + 72 * HOUR),
    }),
    task('L01/pitch/1', MONDAY + 32 * HOUR, 1, { name: 'Pitch', prev: ['L01/rack/1'], people: ['kim'] }),
    task('L02/pump/1', MONDAY + 50 * HOUR, 2, { name: 'Pump over', machines: ['P1'], people: ['sam'] }),
  ]
  const machine = {
    id: 'm',
    code: 'P1',
    kind: 'pump' as const,
    name: 'Pump',
    capacity: 1,
    version: 1,
    bookings: [{ fromAt: iso(MONDAY + 54 * HOUR), toAt: iso(MONDAY + 56 * HOUR), why: 'service' }],
  }
  const model = buildModel(
    plan(tasks, [], { people: [person('kim', 8 * 60, 17 * 60), person('sam', 8 * 60, 17 * 60)], machines: [machine] }),
  )
  return moveRules(model, layDays(MONDAY - 10 * DAY, MONDAY + 10 * DAY, ZONE), wordsFor('en', ZONE), MONDAY)
}

const judge = (hours: number, andFollows = true) =>
  judgeMove(rulesOf(), { ix: 1, startMs: MONDAY + hours * HOUR, andFollows })

describe('a verdict', () => {
  it('is fine inside the window, on shift, with the pump free', () => {
    expect(judge(26)).toMatchObject({ level: 'fine' })
  })

  it('names the link that holds it back and the nearest start', () => {
    const verdict = judge(20)
    expect(verdict).toMatchObject({ level: 'no', nearestMs: MONDAY + 24 * HOUR })
    expect(verdict.words).toContain('Settle')
  })

  it('names what follows when only this one moves, and lets it go when the rest moves along', () => {
    expect(judge(31, false)).toMatchObject({ level: 'no', nearestMs: MONDAY + 30 * HOUR })
    expect(judge(31, false).words).toContain('Pitch')
    expect(judge(31, true).words).not.toContain('follows')
  })

  it('names the lot that has the pump, and its booking', () => {
    expect(judge(49).words).toContain('Pump over')
    expect(judge(55).words).toContain('service')
  })

  it('asks for another pair of hands outside the shift', () => {
    expect(judge(34)).toMatchObject({ level: 'strained' })
    expect(judge(34).words).toContain('KIM')
  })

  it('ends at the latest start', () => {
    expect(judge(80)).toMatchObject({ level: 'no', nearestMs: MONDAY + 72 * HOUR })
  })
})

/**
 * Must from 08:00 to 20:00 on Monday; the yeast follows 2 to 6 h after its end, and better within 4 h; the nutrient
 * stands two days on at 08:00 and asks for 12 to 48 h after the yeast's start.
 */
function laggedRules() {
  const tasks = [
    task('L01/settle/1', MONDAY, 12, { name: 'Settle', next: ['L01/pitch/1'] }),
    task('L01/pitch/1', MONDAY + 15 * HOUR, 1, {
      name: 'Pitch',
      prev: ['L01/settle/1', 'L01/settle/1'],
      next: ['L01/feed/1'],
      waits: [
        { key: 'L01/settle/1', from: 'end', minMin: 120, maxMin: 360 },
        { key: 'L01/settle/1', from: 'end', minMin: 0, maxMin: 240, soft: true },
      ],
    }),
    task('L01/feed/1', MONDAY + 48 * HOUR, 1, {
      name: 'Feed',
      prev: ['L01/pitch/1'],
      waits: [{ key: 'L01/pitch/1', from: 'start', minMin: 720, maxMin: 2880 }],
    }),
  ]
  const days = layDays(MONDAY - 10 * DAY, MONDAY + 10 * DAY, ZONE)
  return moveRules(buildModel(plan(tasks)), days, wordsFor('en', ZONE), MONDAY - DAY)
}

describe('lags', () => {
  const judgeAt = (hours: number, ix = 1, andFollows = true) =>
    judgeMove(laggedRules(), { ix, startMs: MONDAY + hours * HOUR, andFollows })

  it('hold a task back by their least and cut it off by their longest, and name the link', () => {
    // Ends at hour 12: from 14 to 18.
    expect(judgeAt(13)).toMatchObject({ level: 'no', nearestMs: MONDAY + 14 * HOUR })
    expect(judgeAt(13).words).toBe('Too early: Settle (L01) ends Mon 15 Mar 20:00 and must be 2 h past.')
    expect(judgeAt(19)).toMatchObject({ level: 'no', nearestMs: MONDAY + 18 * HOUR })
    expect(judgeAt(19).words).toBe('Too late: Settle (L01) ends Mon 15 Mar 20:00, and at most 6 h may pass.')
  })

  it('that are advice are told and may be passed over', () => {
    // Better by hour 16.
    expect(judgeAt(16)).toMatchObject({ level: 'fine' })
    expect(judgeAt(17)).toMatchObject({ level: 'strained' })
    expect(judgeAt(17).words).toMatch(/^Better sooner: Settle/)
  })

  it('bind from the other side where only this task moves', () => {
    // The feed stands at hour 48: the yeast may start at hour 0 at the earliest (48 h), at 36 at the latest (12 h).
    const rules = laggedRules()
    const alone = moveWindow({ ...rules, model: withoutWaits(rules.model, 1) }, 1, false)
    expect(alone.earliest.ms).toBe(MONDAY)
    expect(alone.latest.ms).toBe(MONDAY + 36 * HOUR)
    expect(alone.latest.why).toContain('asks for 12 h before it')
    expect(moveWindow({ ...rules, model: withoutWaits(rules.model, 1) }, 1, true).latest.ms).toBe(MONDAY + 63 * HOUR)
  })

  it('count once where a link is told twice', () => {
    expect(moveWindow(laggedRules(), 1, true)).toMatchObject({
      earliest: { ms: MONDAY + 14 * HOUR },
      latest: { ms: MONDAY + 18 * HOUR },
    })
  })
})

function withoutWaits(model: Model, ix: number): Model {
  const tasks = model.plan.tasks.map((t, i) => (i === ix ? { ...t, waits: [] } : t))
  return { ...model, plan: { ...model.plan, tasks } }
}

// One or two people from 08:00 to 17:00.
const atOnce = (tasks: TaskWire[], more: Partial<SeasonPlan> = {}) =>
  moveRules(
    buildModel(plan(tasks, [], { people: [person('kim', 8 * 60, 17 * 60)], ...more }), undefined, ZONE),
    layDays(MONDAY - 10 * DAY, MONDAY + 10 * DAY, ZONE),
    wordsFor('en', ZONE),
    MONDAY - DAY,
  )

describe('work at two sites', () => {
  // Kim racks in the cellar until 10:00 and pumps there from 12:00. The hall is 20 min away; an hour's reading is due there.
  const tasks = [
    task('L01/read/1', MONDAY + 3 * HOUR, 1, { people: ['kim'], site: 'Hall' }),
    task('L02/rack/1', MONDAY, 2, { name: 'Rack', people: ['kim'] }),
    task('L02/pump/1', MONDAY + 4 * HOUR, 1, { name: 'Pump over', people: ['kim'] }),
  ]
  const travel = {
    sites: ['', 'Hall'],
    minutes: [
      [0, 20],
      [20, 0],
    ],
  }
  const judgeAt = (min: number, more: Partial<SeasonPlan> = { travel }) =>
    judgeMove(atOnce(tasks, more), { ix: 0, startMs: MONDAY + min * 60_000, andFollows: true })

  it('needs the way from one to the other', () => {
    expect(judgeAt(130)).toEqual({
      level: 'strained',
      words: 'KIM comes from the cellar and needs 20 min: Rack (L02) ends 10:00.',
    })
    expect(judgeAt(140).level).toBe('fine')
  })

  it('and back again', () => {
    // From 10:40 to 11:40 leaves the 20 min; from 10:45 it does not.
    expect(judgeAt(160).level).toBe('fine')
    expect(judgeAt(165)).toEqual({
      level: 'strained',
      words: 'KIM goes on to the cellar and needs 20 min: Pump over (L02) starts 12:00.',
    })
  })

  it('needs none where there is one site', () => {
    expect(judgeAt(120, {}).level).toBe('fine')
  })
})

describe('a day with work that is planned to the day', () => {
  // On Tuesday two people have 18 h: 16 h are asked for by the day, an hour of Kim's is taken to the minute, an hour is left.
  const TUESDAY = MONDAY + DAY
  const daily = (key: string, startMs: number, hours: number, more: Partial<TaskWire> = {}) =>
    task(key, startMs, hours, { grain: 'day', ...more })
  const full = [
    daily('L02/rack/1', TUESDAY, 8),
    daily('L03/rack/1', TUESDAY, 8),
    // Done by the crew that racks: no minutes of its own.
    daily('L03/dose/1', TUESDAY, 2, { streams: true }),
    task('L04/read/1', TUESDAY, 1, { people: ['kim'] }),
  ]
  const people = [
    person('kim', 8 * 60, 17 * 60),
    person('sam', 8 * 60, 17 * 60),
    person('eve', 8 * 60, 17 * 60, { role: 'viewer' }),
  ]
  const judgeOn = (hours: number, startMs: number, more: readonly TaskWire[] = []) =>
    judgeMove(atOnce([daily('L01/filter/1', MONDAY + 2 * DAY, hours), ...full, ...more], { people }), {
      ix: 0,
      startMs,
      andFollows: true,
    })

  it('takes what it has hours for', () => {
    expect(judgeOn(1, TUESDAY).level).toBe('fine')
    expect(judgeOn(2, MONDAY + 2 * DAY).level).toBe('fine')
  })

  it('says how little is left, and when nothing is', () => {
    expect(judgeOn(2, TUESDAY)).toEqual({
      level: 'strained',
      words: 'Tue 16 Mar has 1 h of work left to give, and this asks for 2 h.',
    })
    expect(judgeOn(2, TUESDAY, [daily('L05/rack/1', TUESDAY, 1)])).toEqual({
      level: 'strained',
      words: 'Tue 16 Mar is full, and this asks for 2 h.',
    })
  })
})

describe('a move', () => {
  it('that comes back to where it began is none', () => {
    const rules = rulesOf()
    const begun = beginMove(rules, 1)
    expect(isMoved(begun, rules.model)).toBe(false)
    const away = moveTo(rules, begun, begun.startMs + HOUR)
    expect(isMoved(away, rules.model)).toBe(true)
    expect(isMoved(moveTo(rules, away, begun.startMs), rules.model)).toBe(false)
  })

  it('steps by keys, by a day, and to both ends of its window', () => {
    const rules = rulesOf()
    const begun = beginMove(rules, 1)
    expect(keyedTo(rules.days, begun, 'step-on', 30)).toBe(begun.startMs + 30 * 60_000)
    expect(keyedTo(rules.days, begun, 'day-back', 30)).toBe(begun.startMs - DAY)
    expect(keyedTo(rules.days, begun, 'earliest', 30)).toBe(MONDAY + 24 * HOUR)
    expect(keyedTo(rules.days, withFollowers(rules, begun, false), 'latest', 30)).toBe(MONDAY + 30 * HOUR)
  })

  it('onto another person is one, and is judged by that person', () => {
    const rules = rulesOf()
    const begun = beginMove(rules, 1)
    const given = moveTo(rules, begun, begun.startMs, 'sam')
    expect(isMoved(given, rules.model)).toBe(true)
    expect(given.verdict.level).toBe('fine')
  })

  it('is offered without dragging, each start with its verdict', () => {
    const slots = slotsFor(rulesOf(), 1)
    expect(slots.map((s) => s.label)).toEqual(['Earliest', 'A day earlier', 'A day later', 'Two days later', 'Latest'])
    expect(slots[0]?.startMs).toBe(MONDAY + 24 * HOUR)
    expect(slots[1]?.verdict.level).toBe('no')
  })
})
