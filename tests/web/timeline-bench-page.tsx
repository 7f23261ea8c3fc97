/** The page that `timeline.ts` measures: our chart and grid behind six calls, on an invented vintage of any size. */
import { createMemo, createSignal } from 'solid-js'
import { render } from 'solid-js/web'
import type { TaskWire } from '../../api/wire.ts'
import { DAY } from '../../web/palette.ts'
import { Chart } from '../../web/timeline/chart.tsx'
import { layDays } from '../../web/timeline/days.ts'
import type { Frame } from '../../web/timeline/frame.ts'
import { Grid, type Place } from '../../web/timeline/grid.tsx'
import { placeOfTask } from '../../web/timeline/hit.ts'
import { layLoad } from '../../web/timeline/load.ts'
import { buildModel, FAMILY_ORDER, type SeasonPlan } from '../../web/timeline/model.ts'
import type { Move } from '../../web/timeline/move.ts'
import { ARRANGED, arrangeRows } from '../../web/timeline/rows.ts'
import { moveRules } from '../../web/timeline/rules.ts'
import { DAY_MS } from '../../web/timeline/scale.ts'
import type { View } from '../../web/timeline/view.ts'
import { wordsFor } from '../../web/timeline/words.ts'
import '../../web/timeline/timeline.css'

/** What any renderer under measurement is given: rows, bars in them, links between bars. Milliseconds UTC. */
export interface Vintage {
  readonly rows: readonly { readonly id: number; readonly label: string }[]
  readonly bars: readonly {
    readonly id: number
    readonly row: number
    readonly start: number
    readonly end: number
    readonly kind: number
    readonly state: number
    readonly label: string
  }[]
  readonly links: readonly { readonly id: number; readonly from: number; readonly to: number }[]
  readonly t0: number
  readonly t1: number
}

export interface Renderer {
  readonly label: string
  mount(
    element: HTMLElement,
    vintage: Vintage,
    options: { from: number; to: number; rowh: number; links: boolean },
  ): Promise<void> | void
  /** Turns the vintage into the renderer's own data, before anything is measured. */
  prepare?(vintage: Vintage): void
  painted(): boolean
  setView(from: number, to: number): Promise<void> | void
  panTo(from: number, span: number): void
  scrollY(px: number): void
  maxScrollY(): number
  barRect?(): { x: number; y: number } | null
  dragInfo?(): unknown
  unmount?(): void
}

const STATES = ['planned', 'due', 'underway', 'done', 'blocked'] as const
const PHASES = ['settle', 'ferment', 'malolactic', 'lees', 'cold', 'store'] as const
const iso = (ms: number): string => new Date(ms).toISOString()

function planOf(vintage: Vintage): SeasonPlan {
  const prev = new Map<number, string[]>()
  const next = new Map<number, string[]>()
  const key = (id: number) => `R${vintage.bars[id]?.row}/step/${id}`
  const add = (map: Map<number, string[]>, id: number, value: string) => {
    const list = map.get(id)
    if (list) list.push(value)
    else map.set(id, [value])
  }
  for (const link of vintage.links) {
    add(prev, link.to, key(link.from))
    add(next, link.from, key(link.to))
  }
  const tasks = vintage.bars.map((bar): TaskWire => {
    const startAt = iso(bar.start)
    return {
      key: key(bar.id),
      lotId: `R${bar.row}`,
      lotCode: `R${bar.row}`,
      lotName: vintage.rows[bar.row]?.label ?? '',
      step: 'step',
      family: FAMILY_ORDER[bar.kind % 6] ?? 'check',
      name: bar.label,
      detail: '',
      startAt,
      endAt: iso(bar.end),
      grain: 'minute',
      crewMin: 60,
      people: [`p${bar.row % 12}`],
      crew: 1,
      fromVessels: [],
      toVessels: [],
      machines: bar.id % 7 === 0 ? ['PA'] : [],
      state: STATES[bar.state % 5] ?? 'planned',
      late: bar.id % 97 === 0,
      earliestAt: iso(bar.start - 3 * DAY_MS),
      latestAt: iso(bar.start + 3 * DAY_MS),
      slackMin: 4320,
      forecast: false,
      pinned: false,
      doses: [],
      records: [],
      caution: '',
      materials: [],
      why: '',
      whyNotLater: '',
      prev: prev.get(bar.id) ?? [],
      next: next.get(bar.id) ?? [],
      conflicts: [],
      broken: [],
      revision: 1,
      changedAt: startAt,
    }
  })
  const slot = (vintage.t1 - vintage.t0) / PHASES.length
  return {
    tasks,
    phases: vintage.rows.flatMap((row) =>
      PHASES.map((kind, i) => ({
        key: `R${row.id}/${kind}`,
        lotId: `R${row.id}`,
        lotCode: `R${row.id}`,
        kind,
        vessels: [{ code: `T${row.id}`, kind: row.id % 3 === 0 ? ('barrel' as const) : ('tank' as const) }],
        volumeL: 5000,
        startAt: iso(vintage.t0 + i * slot),
        endAt: iso(vintage.t0 + (i + 0.95) * slot),
        ratePerDay: kind === 'ferment' ? Array.from({ length: 20 }, (_, d) => 22 * Math.exp(-((d - 5) ** 2) / 20)) : [],
        tempC: 14,
      })),
    ),
    people: Array.from({ length: 12 }, (_, i) => ({
      id: `p${i}`,
      name: `Hand ${i}`,
      role: 'hand' as const,
      post: 'hand',
      skills: [],
      language: 'en',
      shifts: [{ weekdays: [1, 2, 3, 4, 5, 6, 7], startMin: 420, endMin: 1140 }],
      absences: [],
      version: 1,
    })),
    vessels: [],
    machines: [{ id: 'm', code: 'PA', kind: 'press', name: 'Press', capacity: 1, bookings: [], version: 1 }],
    conflicts: [],
    broken: [],
    revision: 1,
  }
}

const ZONE = 'Pacific/Auckland'

function ours(): Renderer {
  let frame: Frame | undefined
  let plan: SeasonPlan | undefined
  let setView: (view: View) => void = () => undefined
  let view: () => View = () => ({ fromMs: 0, toMs: 1, scrollPx: 0 })
  let heightPx = 0
  let taskCount = 0
  let dispose: (() => void) | undefined
  const moves: number[] = []
  return {
    label: 'this timeline, with its grid',
    prepare: (vintage) => {
      plan = planOf(vintage)
    },
    mount: (element, vintage, options) => {
      const model = buildModel(plan ?? planOf(vintage))
      taskCount = model.startMs.length
      const days = layDays(model.firstMs - 30 * DAY_MS, model.lastMs + 30 * DAY_MS, ZONE)
      const words = wordsFor('en', ZONE)
      const load = layLoad(model, days)
      const nowMs = vintage.t0 + 0.7 * (vintage.t1 - vintage.t0)
      const rules = moveRules(model, days, words, vintage.t0)
      const rows = arrangeRows(model, ARRANGED, nowMs)
      heightPx = rows.length * options.rowh
      const [now, set] = createSignal<View>({ fromMs: options.from, toMs: options.to, scrollPx: 0 })
      const [move, setMove] = createSignal<Move>()
      const [place, setPlace] = createSignal<Place>()
      view = now
      setView = set
      // A pointer's move from its first listener to its last: where it is, the verdict by all rules, and the words' signals.
      let begun = 0
      const begin = () => {
        begun = performance.now()
      }
      const finish = () => move() && moves.push(performance.now() - begun)
      addEventListener('pointermove', begin, true)
      addEventListener('pointermove', finish)
      const undo = () => {
        removeEventListener('pointermove', begin, true)
        removeEventListener('pointermove', finish)
      }
      const unmount = render(() => {
        const carried = createMemo(move)
        return (
          <Chart
            model={model}
            rows={rows}
            days={days}
            load={load}
            words={words}
            rules={rules}
            palette={DAY}
            nowMs={nowMs}
            view={now()}
            onView={set}
            rowPx={options.rowh}
            gutterPx={150}
            stripPx={56}
            textPx={12}
            font="system-ui, sans-serif"
            {...(carried() && { move: carried() as Move })}
            allLinks={options.links}
            mayMove
            onSelect={() => undefined}
            onRow={() => undefined}
            onMove={setMove}
            onDrop={() => setMove(undefined)}
            onFrame={(drawn) => {
              frame = drawn
            }}
          >
            {(shown) => (
              <Grid
                frame={shown()}
                model={model}
                rows={rows}
                words={words}
                nowMs={nowMs}
                label="Season"
                place={place()}
                onPlace={setPlace}
                onOpen={() => undefined}
                onKey={() => false}
                reveal={() => undefined}
              />
            )}
          </Chart>
        )
      }, element)
      dispose = () => {
        undo()
        unmount()
      }
    },
    painted: () => frame !== undefined && (frame.rows.length > 0 || frame.pixels !== undefined),
    setView: (fromMs, toMs) => setView({ ...view(), fromMs, toMs }),
    panTo: (fromMs, span) => setView({ ...view(), fromMs, toMs: fromMs + span }),
    scrollY: (scrollPx) => setView({ ...view(), scrollPx }),
    maxScrollY: () => Math.max(0, heightPx - 690),
    barRect: () => {
      if (!frame) return null
      for (let ix = 0; ix < taskCount; ix++) {
        const at = placeOfTask(frame, ix)
        const alone =
          at &&
          frame.rows.some((r) =>
            r.marks.pegs.some((p) => p.members.length === 1 && p.members[0] === ix && p.look.state !== 'done'),
          )
        if (at && alone && at.x > 320 && at.x < 1000 && at.y > 150) return { x: at.x, y: at.y }
      }
      return null
    },
    dragInfo: () => {
      const sorted = moves.toSorted((a, b) => a - b)
      return {
        moves: sorted.length,
        medianMs: sorted[sorted.length >> 1] ?? Number.NaN,
        worstMs: sorted.at(-1) ?? Number.NaN,
      }
    },
    unmount: () => dispose?.(),
  }
}

declare global {
  interface Window {
    ADAPTER?: Renderer
    OURS?: () => Renderer
  }
}
window.OURS = ours
