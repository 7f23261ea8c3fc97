/** What the season's desk knows and does: the plan laid out, where one looks, what is in the hand. It draws nothing. */
import { createComputed, createEffect, createMemo, createSignal, on, untrack } from 'solid-js'
import type { ReadingWire } from '../../api/wire.ts'
import type { Palette } from '../palette.ts'
import type { SeasonActs } from './acts.ts'
import { createAnnouncer } from './announce.tsx'
import { axisPx } from './chart.tsx'
import { type Days, layDays } from './days.ts'
import { createDeskMove } from './desk-move.ts'
import type { Difference } from './differences.tsx'
import type { Frame } from './frame.ts'
import type { Place } from './grid.tsx'
import { type Kept, keptOf, keptOfPlan } from './kept.ts'
import type { Length } from './lengths.ts'
import { type Cooling, layLoad } from './load.ts'
import { buildModel, type SeasonPlan } from './model.ts'
import { printHere } from './print-here.ts'
import { ARRANGED, type Arrangement, arrangeRows } from './rows.ts'
import { moveRules } from './rules.ts'
import { DAY_MS } from './scale.ts'
import { leesShares, seriesOf } from './spark.ts'
import { type Stretch, stretchWords } from './stretch.ts'
import { revealed, spanAround, type View } from './view.ts'
import { wordsFor } from './words.ts'

export interface SeasonProps {
  readonly plan: SeasonPlan
  readonly zone: string
  readonly language: string
  readonly nowMs: number
  readonly palette: Palette
  readonly mayMove: boolean
  readonly acts: SeasonActs
  readonly selected: string | undefined
  readonly onSelect: (key: string | undefined) => void
  readonly onPrint: (view: View, arrangement: Arrangement) => void
  /** Cooling by the hour, where the server has worked it out. */
  readonly cooling?: Cooling
  readonly readings?: readonly ReadingWire[]
  readonly showReadings: boolean
  readonly onReadings: () => void
  /** The plan drawn is a trial: the real one lies under it. */
  readonly trial?: {
    readonly id: string
    readonly name: string
    readonly words: readonly string[]
    readonly changed: readonly Difference[]
    readonly real: Pick<SeasonPlan, 'tasks' | 'phases'>
  }
}

/** The lot whose lengths are looked at; and how far a band's end was drawn, where one was. */
interface Lengthening {
  readonly lotId: string
  readonly lotCode: string
  readonly wanted?: { readonly choice: Length['choice']; readonly value: number }
}

export type Desk = ReturnType<typeof createDesk>

export const GUTTER_PX = 180
export const STRIP_PX = 56

export function createDesk(props: SeasonProps) {
  const lotCodes = createMemo(() => new Map(props.plan.tasks.flatMap((t) => (t.lotId ? [[t.lotId, t.lotCode]] : []))))
  const model = createMemo(() =>
    buildModel(props.plan, props.readings && leesShares(props.readings, (id) => lotCodes().get(id)), props.zone),
  )
  const series = createMemo(() =>
    props.showReadings && props.readings ? seriesOf(props.readings, (id) => lotCodes().get(id)) : undefined,
  )
  const days = createMemo<Days>(() => layDays(model().firstMs - 90 * DAY_MS, model().lastMs + 90 * DAY_MS, props.zone))
  const words = createMemo(() => wordsFor(props.language, props.zone))
  const load = createMemo(() => layLoad(model(), days(), props.cooling))
  const rules = createMemo(() => moveRules(model(), days(), words(), props.nowMs))
  const [arrangement, setArrangement] = createSignal<Arrangement>(ARRANGED)
  const rows = createMemo(() => arrangeRows(model(), arrangement(), props.nowMs))
  const [view, setView] = createSignal<View>(untrack(() => spanAround('month', props.nowMs, days(), model())))
  const [frame, setFrame] = createSignal<Frame>()
  const [size, setSize] = createSignal({ widthPx: 1000, heightPx: 700 })
  const [moveKey, setMoveKey] = createSignal<string>()
  const [place, setPlace] = createSignal<Place>()
  const [cluster, setCluster] = createSignal<readonly number[]>([])
  const [atOnce, setAtOnce] = createSignal(false)
  const [allLinks, setAllLinks] = createSignal(false)
  const [stood, setStood] = createSignal<Kept>()
  const [lengthening, setLengthening] = createSignal<Lengthening>()
  const [stretch, setStretch] = createSignal<Stretch>()
  const kept = createMemo(() => (props.trial ? keptOfPlan(props.trial.real) : stood()))
  const announcer = createAnnouncer()
  const moving = createDeskMove({
    rules,
    acts: () => props.acts,
    announcer,
    mayMove: () => props.mayMove,
    view,
    setView,
    rowsBy: () => arrangement().by,
  })
  // A new plan numbers its tasks anew: what is held and what has the focus are found again by their keys.
  createComputed(
    on(model, (next, before) => {
      if (!before) return next
      const again = (ix: number) => next.ixOf.get(before.plan.tasks[ix]?.key ?? '')
      const at = untrack(place)
      if (at?.ix !== undefined) {
        const ix = again(at.ix)
        setPlace(ix === undefined ? { rowId: at.rowId } : { rowId: at.rowId, ix })
      }
      untrack(() => moving.renumber(again))
      setCluster([])
      return next
    }),
  )
  const [recall, setRecall] = createSignal(0)
  createEffect(
    on(
      () => props.selected === undefined && moveKey() === undefined && lengthening() === undefined,
      (free) => free && setRecall((n) => n + 1),
      { defer: true },
    ),
  )

  const rowPx = createMemo(() => {
    const room = Math.floor((size().heightPx - axisPx(12) - STRIP_PX) / Math.max(1, rows().length))
    return Math.max(atOnce() ? 1 : 28, Math.min(56, room))
  })
  const selectedIx = () => (props.selected === undefined ? undefined : model().ixOf.get(props.selected))
  const goNow = () => {
    const spanMs = view().toMs - view().fromMs
    setView({ ...view(), fromMs: props.nowMs - spanMs * 0.25, toMs: props.nowMs + spanMs * 0.75 })
    announcer.say(`Now: ${words().momentLong(props.nowMs)}`)
  }

  const reveal = (at: Place) => {
    const index = rows().findIndex((r) => r.id === at.rowId)
    const shown = frame()
    let next = at.ix === undefined ? view() : revealed(view(), model().startMs[at.ix] as number)
    if (shown && index >= 0 && !shown.rows.some((r) => r.index === index && r.place.y + r.place.h <= size().heightPx)) {
      const top = rows()
        .slice(0, index)
        .reduce((sum, r) => sum + (r.kind === 'group' ? 30 : rowPx()), 0)
      next = { ...next, scrollPx: Math.max(0, top - (size().heightPx - axisPx(12) - STRIP_PX) / 2) }
    }
    if (next !== view()) setView(next)
  }

  printHere({ model, rows, days, load, words, view, nowMs: () => props.nowMs })

  const select = (members: readonly number[]) => {
    setCluster(members.length > 1 ? members : [])
    props.onSelect(members.length === 1 ? model().plan.tasks[members[0] as number]?.key : undefined)
  }
  const foldRow = (rowId: string) => {
    const { folded } = arrangement()
    const isFolded = folded.includes(rowId)
    setArrangement({
      ...arrangement(),
      folded: isFolded ? folded.filter((id) => id !== rowId) : [...folded, rowId],
    })
    const row = rows().find((r) => r.id === rowId)
    announcer.say(`${row?.label ?? rowId} ${isFolded ? 'unfolded' : 'folded'}.`)
  }
  const lengthen = (at: Place | undefined): boolean => {
    const ix = at?.ix ?? selectedIx()
    const task = ix === undefined ? undefined : model().plan.tasks[ix]
    const code = task?.lotCode ?? at?.rowId
    const lotId = task?.lotId ?? props.plan.phases.find((p) => p.lotCode === code)?.lotId
    if (!props.mayMove || !lotId || code === undefined) return false
    setLengthening({ lotId, lotCode: code })
    return true
  }
  const keepPlan = () => setStood(stood() ? undefined : keptOf(model()))

  const draw = (next: Stretch | undefined) => {
    setStretch(next)
    if (next) announcer.say(stretchWords(next, words()))
  }
  const drawn = ({ length, value }: Stretch) => {
    const { lotCode } = length.phase
    const lotId = props.plan.phases.find((p) => p.lotCode === lotCode)?.lotId
    if (lotId) setLengthening({ lotId, lotCode, wanted: { choice: length.choice, value } })
  }

  return {
    allLinks,
    announcer,
    arrangement,
    atOnce,
    cluster,
    days,
    draw,
    drawn,
    foldRow,
    goNow,
    kept,
    keepPlan,
    lengthen,
    lengthening,
    load,
    model,
    moveKey,
    moving,
    place,
    recall,
    reveal,
    rowPx,
    rows,
    rules,
    select,
    selectedIx,
    series,
    setAllLinks,
    setArrangement,
    setAtOnce,
    setCluster,
    setFrame,
    setLengthening,
    setMoveKey,
    setPlace,
    setSize,
    setView,
    size,
    stretch,
    view,
    words,
  }
}
