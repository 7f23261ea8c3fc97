import Papa from 'papaparse'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { LotWire, ReadingWire, TaskWire, VesselWire } from '../../api/wire.ts'
import { allTasks, arrivedL, type FloorDay, isOpen, openFloorDay, picture } from '../helpers/floor-day.ts'
import { drive, type Entered, oneOfEach } from '../helpers/floor-work.ts'

// Every kind of work of the invented cellar, once: what no longer falls on this day is driven from its own screen in
// order of time. The phone sends when a round is over, as after a walk through a cellar without a signal.
let day: FloorDay
const entered: Entered[] = []
/** What the registers held before: the invented vintage so far. */
let before: ReadonlySet<string> = new Set()
const ROUND = 30
const ROUNDS = 6

beforeAll(async () => {
  day = await openFloorDay()
  const { readings } = await day.api<{ readings: ReadingWire[] }>('/api/readings')
  const additions = await table<{ id: string }>('/api/export/additions.csv')
  const log = await table<{ subjectId: string }>('/api/record/csv')
  before = new Set([...[...readings, ...additions].map((row) => row.id), ...log.map((row) => row.subjectId)])
})

afterAll(() => day?.close())

const isDriven = (step: string) => entered.some((one) => one.task.step === step)
const additionsEntered = () => entered.flatMap((one) => one.additions)

/** Kinds of work that are still to be driven, the first task of each; nothing for those the plan took away meanwhile. */
async function nextRound(kinds: ReadonlySet<string>): Promise<readonly TaskWire[]> {
  const { lots } = await day.api<{ lots: LotWire[] }>('/api/lots')
  const waits = new Set(lots.filter((lot) => lot.choices.malolactic !== 'refuse').map((lot) => lot.id))
  const left = (await allTasks(day)).filter((task) => isOpen(task) && kinds.has(task.step) && !isDriven(task.step))
  return oneOfEach(left, waits).slice(0, ROUND)
}

/** The phone is let to the cellar, sends all it holds, and is held again. */
async function send(tasks: readonly Entered[]): Promise<void> {
  day.wire.captive = 0
  await day.phone.evaluate("window.dispatchEvent(new Event('online'))")
  const done = async () => {
    const now = new Map((await allTasks(day)).map((task) => [task.key, task.state]))
    return tasks.flatMap(({ task }) => (now.get(task.key) === 'done' ? [] : [`${task.key} ${now.get(task.key)}`]))
  }
  await expect.poll(done, { interval: 500 }).toEqual([])
  day.wire.captive = Number.POSITIVE_INFINITY
}

/** A table that the cellar gives out. */
async function table<T>(path: string): Promise<readonly T[]> {
  const csv = await (await day.desk.request.get(`${day.app.url}${path}`)).text()
  return Papa.parse<T>(csv.replace(/^\uFEFF/, ''), { header: true, skipEmptyLines: true }).data
}

describe('every kind of work on the floor', () => {
  it('is driven through the screens once', async () => {
    const kinds = new Set((await allTasks(day)).filter(isOpen).map((task) => task.step))
    day.wire.captive = Number.POSITIVE_INFINITY
    for (let round = 0; round < ROUNDS; round += 1) {
      const tasks = await nextRound(kinds)
      if (tasks.length === 0) break
      const { readings } = await day.api<{ readings: ReadingWire[] }>('/api/readings')
      const { vessels } = await day.api<{ vessels: VesselWire[] }>('/api/vessels')
      const lasts = new Map(readings.map((one) => [`${one.lotId} ${one.kind}`, one.value]))
      for (const task of tasks) {
        const how = {
          n: entered.length,
          lasts,
          movedL: arrivedL(task, vessels),
          isOther: additionsEntered().length === 0,
        }
        entered.push(await drive(day.phone, task, how))
      }
      await send(entered.slice(-tasks.length))
    }
    day.wire.captive = 0
    await picture(day.phone, 'last-done')
    const done = new Set(entered.map((one) => one.task.step))
    expect([...kinds].filter((step) => !done.has(step))).toEqual([])
    expect(done.size).toBeGreaterThan(60)
  }, 900_000)

  it('stands in the additions register as it went in, and nothing else does: product, amount, batch, task', async () => {
    const rows =
      await table<Readonly<Record<'id' | 'product' | 'amount' | 'batchNo' | 'taskKey' | 'person', string>>>(
        '/api/export/additions.csv',
      )
    expect(additionsEntered().length).toBeGreaterThan(5)
    expect(
      rows
        .filter((row) => !before.has(row.id))
        .map((row) => [row.taskKey, row.product, Number(row.amount), row.batchNo, row.person])
        .sort(),
    ).toEqual(
      entered
        .flatMap(({ task, additions }) => additions.map((a) => [task.key, a.product, a.amount, a.batchNo, 'Kim']))
        .sort(),
    )
  })

  it('stands in the readings, value by value, each with its task, and nothing else does', async () => {
    const { readings } = await day.api<{ readings: ReadingWire[] }>('/api/readings')
    // Litres are told as a movement; what is measured in the house itself is told in words.
    const told = entered
      .filter((one) => one.task.lotId !== null)
      .flatMap(({ task, readings: rows }) => rows.map((r) => [task.key, r.kind, r.value, day.kimId]))
    expect(told.length).toBeGreaterThan(40)
    expect(
      readings
        .filter((row) => !before.has(row.id))
        .map((row) => [row.taskKey, row.kind, row.value, row.personId])
        .sort(),
    ).toEqual(told.sort())
  })

  it('stands in the movements, litre by litre', async () => {
    const rows = await table<{ volumeL: string; taskKey: string }>('/api/export/transfers.csv')
    const moved = entered.filter((one) => one.movedL !== undefined)
    expect(moved.length).toBeGreaterThan(0)
    for (const one of moved) {
      const sumL = rows.filter((row) => row.taskKey === one.task.key).reduce((sum, row) => sum + Number(row.volumeL), 0)
      expect(sumL, one.task.key).toBeCloseTo(one.movedL ?? 0, 1)
    }
  })

  it('stands in the work log: who began and did what, and every caution that was read', async () => {
    const rows = await table<Readonly<Record<'kind' | 'taskKey' | 'person' | 'subjectId', string>>>('/api/record/csv')
    const told = entered.flatMap(({ task, isCautioned, isStarted }) =>
      [...(isCautioned ? ['caution'] : []), ...(isStarted ? ['start'] : []), 'done'].map((kind) => [
        task.key,
        kind,
        'Kim',
      ]),
    )
    expect(
      rows
        .filter((row) => !before.has(row.subjectId) && ['caution', 'start', 'done'].includes(row.kind))
        .map((row) => [row.taskKey, row.kind, row.person])
        .sort(),
    ).toEqual(told.sort())
  })

  it('made no page complain on the console', () => {
    expect(day.errors).toEqual([])
  })
})
