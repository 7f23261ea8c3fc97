import { expect, it } from 'vitest'
import type { Level } from '../../api/cellar/ledger/page.ts'
import { demoFacts } from '../../api/demo/facts.ts'
import { storeFacts } from '../../api/demo/store.ts'
import { type Draft, reversalOf } from '../../api/ledger/draft.ts'
import { post } from '../../api/ledger/post.ts'
import { readWhole } from '../../api/ledger/rebuild.ts'
import { bookAdditions } from '../../api/ledger/tick.ts'
import { bookAt } from '../../api/ledger/told.ts'
import { walkLedger } from '../../api/ledger/walk.ts'
import { listContents } from '../../db/queries/contents.ts'
import { listLevels } from '../../db/queries/levels.ts'
import { listMovements } from '../../db/queries/movements.ts'
import { recordAdditions } from '../../db/queries/records.ts'
import { chanceOf } from '../helpers/chance.ts'
import { withDb } from '../helpers/db.ts'
import { MORNING } from '../helpers/tasks.ts'

const TANKS = ['T01', 'T02', 'T03', 'T05', 'T13', 'A1', 'A2', 'A3'] as const
const LOTS = ['L01', 'L02', 'L03', 'L05'] as const

it.each([1, 2])(
  '300 entries, late ones and corrections among them, leave the database as replaying them does (seed %i)',
  async (seed) => {
    await withDb(async (db) => {
      const chance = chanceOf(seed)
      const all = demoFacts()
      // Few vessels, so that each is written to often.
      const facts = { ...all, vessels: all.vessels.filter((v) => TANKS.some((id) => id === v.id)) }
      const { id } = facts.cellar
      await storeFacts(db, facts, { demo: true, at: MORNING })
      let written = 0
      let refused = 0
      for (let i = 0; i < 300; i++) {
        const late = chance.whole(1, 100) <= 20 ? chance.whole(1, 60) : 0
        const at = MORNING.add({ minutes: 10 * i - 10 * late })
        const writtenAt = MORNING.add({ minutes: 10 * i })
        const book = await bookAt(db, id, at, { vesselIds: TANKS })
        const [from, to] = [chance.pick(TANKS), chance.pick(TANKS)]
        const lotId = chance.pick(LOTS)
        const lot = facts.lots.find((l) => l.id === lotId)!
        const common = { at, people: ['sam'], cause: 'rack' }
        const kind = chance.whole(1, 10)
        const held = book.holds(from)
        const by = { opId: `op${i}`, writtenAt }
        let drafts: Draft[] = []
        if (kind <= 3) {
          const there = book.holds(to)
          const lotId = there.lotId ?? lot.id
          const receipt = {
            id: `r${i}`,
            kind: 'bought' as const,
            lotId,
            variety: lot.variety,
            vintage: '2027',
            block: `b${i % 5}`,
            origin: 'x',
          }
          drafts = [
            {
              ...common,
              from: { outside: 'bought' },
              to: { vesselId: to, lotId },
              volumeMl: chance.whole(1, 200_000),
              receipt,
            },
          ]
        } else if (kind <= 7 && held.lotId !== undefined && from !== to) {
          const lotId = book.holds(to).lotId ?? held.lotId
          const volumeMl = chance.whole(1, 3) === 1 ? held.ml : chance.whole(1, held.ml)
          drafts = [{ ...common, from: { vesselId: from, lotId: held.lotId }, to: { vesselId: to, lotId }, volumeMl }]
        } else if (kind === 8 && held.lotId !== undefined) {
          drafts = [
            {
              ...common,
              from: { vesselId: from, lotId: held.lotId },
              to: { outside: 'loss' },
              volumeMl: chance.whole(1, Math.min(held.ml, 5_000)),
            },
          ]
        } else if (kind === 9) {
          const rows = (await listMovements(db, id)).filter((r) => r.reversesId === null)
          const back = new Set(
            (await listMovements(db, id, { reversing: rows.map((r) => r.id) })).map((r) => r.reversesId),
          )
          const open = rows.filter((r) => !back.has(r.id))
          if (open.length > 0) drafts = [reversalOf(chance.pick(open), 'wrong')]
        } else if (held.lotId !== undefined) {
          const addition = {
            id: `a${i}`,
            lotId: held.lotId,
            product: 'bentonite',
            amount: chance.whole(1, 500),
            unit: 'g' as const,
            treatedL: held.ml / 1000,
            addedAt: at,
            personId: 'noor',
            ...(i % 2 ? { vesselId: from } : {}),
          }
          await recordAdditions(db, id, [addition], writtenAt)
          await bookAdditions(db, id, [addition])
        }
        if (drafts.length === 0) continue
        const done = await post(db, id, drafts, by)
        if (done.ok) written++
        else refused++
      }
      expect(written).toBeGreaterThan(100)
      expect(refused).toBeGreaterThan(5)

      const whole = await readWhole(db, id)
      expect(whole.faults).toEqual([])
      const replayed = [...whole.pages].sort(([a], [b]) => (a < b ? -1 : 1)).flatMap(([, page]) => page)
      expect(await listLevels(db, id)).toEqual(replayed)
      // Walked in batches it is the same, wherever they are cut.
      const limits = new Map(facts.vessels.map((v) => [v.id, Math.round(v.volumeL * 1000)]))
      for (const batch of [3, 50]) {
        const walked: Level[] = []
        const state = await walkLedger(
          db,
          id,
          (vesselId) => limits.get(vesselId),
          async (s) => {
            expect(s.faults).toEqual([])
            walked.push(...s.levels)
          },
          batch,
        )
        expect(walked.sort((a, b) => (a.vesselId < b.vesselId ? -1 : a.vesselId > b.vesselId ? 1 : 0))).toEqual(
          replayed,
        )
        expect(state.contents).toEqual(whole.state.contents)
      }
      const contents = await listContents(db, id)
      expect(contents.length).toBe(whole.state.contents.size)
      for (const c of contents) {
        const { lotId, parcel } = whole.state.contents.get(c.vesselId)!
        expect([c.lotId, c.volumeMl]).toEqual([lotId, parcel.volumeMl])
        expect(Object.values(c.sourcesMl).reduce((a, b) => a + b, 0) / c.volumeMl).toBeCloseTo(1, 9)
        for (const [source, ml] of parcel.sourcesMl)
          expect((c.sourcesMl[source] ?? 0) / c.volumeMl).toBeCloseTo(ml / c.volumeMl, 9)
        for (const [product, amount] of parcel.additionsG) expect(c.added[product] ?? 0).toBeCloseTo(amount, 6)
      }
      // In = out + stock, to the millilitre.
      const rows = await listMovements(db, id)
      const sign = (r: (typeof rows)[number]) => (r.reversesId === null ? 1 : -1)
      const inMl = rows.reduce(
        (ml, r) => ml + ((r.reversesId === null ? r.fromKind : r.toKind) === 'vessel' ? 0 : sign(r) * r.volumeMl),
        0,
      )
      const outMl = rows.reduce(
        (ml, r) => ml + ((r.reversesId === null ? r.toKind : r.fromKind) === 'vessel' ? 0 : sign(r) * r.volumeMl),
        0,
      )
      expect(inMl).toBe(outMl + contents.reduce((ml, c) => ml + c.volumeMl, 0))
    })
  },
  240_000,
)
