import { createComputed, createEffect, createMemo, createSignal, on, Show, untrack } from 'solid-js'
import type { ReadingWire } from '../../api/wire.ts'
import { DAY, type Palette } from '../palette.ts'
import type { SeasonActs } from './acts.ts'
import { Announcer, createAnnouncer } from './announce.tsx'
import { SeasonBar } from './bar.tsx'
import { axisPx, Chart } from './chart.tsx'
import { ClusterList } from './cluster-list.tsx'
import type { Days } from './days.ts'
import { layDays } from './days.ts'
import { createDeskMove } from './desk-move.ts'
import { type Difference, Differences } from './differences.tsx'
import type { Frame } from './frame.ts'
import { Grid, type Place } from './grid.tsx'
import { type Kept, keptOf, keptOfPlan } from './kept.ts'
import { Legend } from './legend.tsx'
import { LengthBox } from './length-box.tsx'
import { lengthsOf } from './lengths.ts'
import { type Cooling, layLoad } from './load.ts'
import { buildModel, type SeasonPlan } from './model.ts'
import { MoveBox } from './move-box.tsx'
import { MoveTo } from './move-to.tsx'
import { printSheets } from './print.ts'
import { printHere } from './print-here.ts'
import { ARRANGED, type Arrangement, arrangeRows, type Row } from './rows.ts'
import { moveRules } from './rules.ts'
import { DAY_MS } from './scale.ts'
import { leesShares, seriesOf } from './spark.ts'
import { revealed, scaleOf, spanAround, type View, zoomed } from './view.ts'
import { wordsFor } from './words.ts'
import './timeline.css'

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

/** The whole desk: controls, chart, grid, move, words. It fetches nothing. */
export function Season(props: SeasonProps) {
  const lotCodes = createMemo(() => new Map(props.plan.tasks.flatMap((t) => (t.lotId ? [[t.lotId, t.lotCode]] : []))))
  const model = createMemo(() =>
    buildModel(props.plan, props.readings && leesShares(props.readings, (id) => lotCodes().get(id))),
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
  const [lengthening, setLengthening] = createSignal<{ readonly lotId: string; readonly lotCode: string }>()
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

  const gutterPx = () => 180
  const stripPx = () => 56
  const rowPx = createMemo(() => {
    const room = Math.floor((size().heightPx - axisPx(12) - stripPx()) / Math.max(1, rows().length))
    return Math.max(atOnce() ? 1 : 28, Math.min(56, room))
  })
  const selectedIx = () => (props.selected === undefined ? undefined : model().ixOf.get(props.selected))
  const deskKeys = (event: KeyboardEvent, at: Place | undefined): boolean => {
    if (moving.onKey(event)) return true
    if (event.ctrlKey || event.metaKey || event.altKey) return false
    const scale = scaleOf(view(), gutterPx(), size().widthPx - gutterPx())
    const focusX = () => {
      const ix = at?.ix ?? selectedIx()
      const aroundMs = ix === undefined ? props.nowMs : (model().startMs[ix] as number)
      const inside = aroundMs > view().fromMs && aroundMs < view().toMs
      return inside ? scale.leftPx + (aroundMs - scale.fromMs) * scale.pxPerMs : scale.leftPx + scale.widthPx / 2
    }
    switch (event.key) {
      case '+':
      case '=':
        setView(zoomed(view(), scale, 1.5, focusX(), model()))
        return true
      case '-':
        setView(zoomed(view(), scale, 1 / 1.5, focusX(), model()))
        return true
      case 't':
        goNow()
        return true
      case 'm':
        if (at?.ix === undefined) return false
        moving.start(at.ix)
        return true
      case 'l':
        return lengthen(at)
      case '/':
        document.querySelector<HTMLInputElement>('.season-bar .find')?.focus()
        return true
      case 'c':
        if (at === undefined) return false
        foldRow(at.rowId)
        return true
      case 'd': {
        const key = at?.ix === undefined ? props.selected : model().plan.tasks[at.ix]?.key
        if (key === undefined || !props.mayMove) return false
        setMoveKey(key)
        return true
      }
      case 'Escape':
        props.onSelect(undefined)
        setCluster([])
        return true
      default:
        return false
    }
  }
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
      next = { ...next, scrollPx: Math.max(0, top - (size().heightPx - axisPx(12) - stripPx()) / 2) }
    }
    if (next !== view()) setView(next)
  }

  printHere(() =>
    printSheets(
      {
        model: model(),
        rows: rows(),
        days: days(),
        load: load(),
        words: words(),
        nowMs: props.nowMs,
        palette: { ...DAY, ground: '#FFFFFF' },
        title: 'Season',
      },
      {
        paper: 'A4',
        fromMs: view().fromMs,
        toMs: view().toMs,
        weeksPerSheet: Math.max(1, Math.min(13, Math.ceil((view().toMs - view().fromMs) / (7 * DAY_MS)))),
        rowPx: 28,
      },
    ),
  )

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
  const onRow = (row: Row) => foldRow(row.id)
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

  return (
    <div class="season">
      <SeasonBar
        model={model()}
        words={words()}
        view={view()}
        nowMs={props.nowMs}
        days={days()}
        arrangement={arrangement()}
        allLinks={allLinks()}
        atOnce={atOnce()}
        onAtOnce={() => setAtOnce(!atOnce())}
        kept={kept() !== undefined}
        readings={props.showReadings}
        onReadings={props.onReadings}
        onLengths={() => void lengthen(place())}
        onView={setView}
        onArrange={setArrangement}
        onZoom={(factor) =>
          setView(
            zoomed(
              view(),
              scaleOf(view(), gutterPx(), size().widthPx - gutterPx()),
              factor,
              gutterPx() + (size().widthPx - gutterPx()) / 2,
              model(),
            ),
          )
        }
        onNow={goNow}
        onAllLinks={() => setAllLinks(!allLinks())}
        onKeepPlan={keepPlan}
        onPrint={() => props.onPrint(view(), arrangement())}
        canMove={props.mayMove && props.selected !== undefined}
        onMoveTo={() => setMoveKey(props.selected)}
      />
      <Chart
        model={model()}
        rows={rows()}
        days={days()}
        load={load()}
        words={words()}
        rules={rules()}
        palette={props.palette}
        nowMs={props.nowMs}
        view={view()}
        onView={setView}
        rowPx={rowPx()}
        gutterPx={gutterPx()}
        stripPx={stripPx()}
        textPx={12}
        font="system-ui, sans-serif"
        {...(selectedIx() !== undefined && { selectedIx: selectedIx() as number })}
        {...(moving.move() && { move: moving.move() })}
        {...(moving.foreseen() && { trial: moving.foreseen() })}
        {...(series() && { series: series() })}
        {...(kept() && { kept: kept() })}
        allLinks={allLinks()}
        mayMove={props.mayMove && moving.move() === undefined}
        onSelect={select}
        onRow={onRow}
        onMove={moving.carry}
        onDrop={moving.drop}
        onFrame={setFrame}
        onSize={(widthPx, heightPx) => setSize({ widthPx, heightPx })}
      >
        {(shown) => (
          <>
            <Grid
              frame={shown()}
              model={model()}
              rows={rows()}
              words={words()}
              nowMs={props.nowMs}
              label={`Season, ${rows().length} rows`}
              place={place()}
              onPlace={setPlace}
              onOpen={(ix) => select([ix])}
              onKey={deskKeys}
              reveal={reveal}
              recall={recall()}
            />
            <Show when={rows().length === 0}>
              <p class="chart-none">
                Nothing fits this choice of rows. Show all kinds and states, or clear the search.
              </p>
            </Show>
            <Show when={moving.move()}>
              {(at) => (
                <MoveBox
                  move={at()}
                  model={model()}
                  words={words()}
                  held={moving.held()}
                  preview={moving.preview()}
                  onFollows={(andFollows) => moving.follow(at(), andFollows)}
                  onNearest={moving.toNearest}
                  onKeep={() => void moving.keep()}
                  onCancel={() => moving.end('The task stays where it was.')}
                />
              )}
            </Show>
          </>
        )}
      </Chart>
      <Show when={props.trial}>
        {(trial) => (
          <Differences
            name={trial().name}
            words={trial().words}
            changed={trial().changed}
            form={words()}
            trialHref={`/what-if/${trial().id}`}
            onPick={(key) => {
              const ix = model().ixOf.get(key)
              if (ix === undefined) return
              setView(revealed(view(), model().startMs[ix] as number))
              props.onSelect(key)
            }}
          />
        )}
      </Show>
      <Legend palette={props.palette} />
      <Show when={cluster().length > 0}>
        <ClusterList
          model={model()}
          members={cluster()}
          words={words()}
          onPick={(ix) => select([ix])}
          onClose={() => setCluster([])}
        />
      </Show>
      <Show when={moveKey()}>
        {(key) => (
          <MoveTo
            rules={rules()}
            ix={model().ixOf.get(key()) ?? 0}
            acts={props.acts}
            announce={announcer}
            onLengths={() => {
              const ix = model().ixOf.get(key())
              setMoveKey(undefined)
              if (ix !== undefined) lengthen({ rowId: '', ix })
            }}
            onClose={() => setMoveKey(undefined)}
          />
        )}
      </Show>
      <Show when={lengthening()}>
        {(lot) => (
          <LengthBox
            lotId={lot().lotId}
            lotCode={lot().lotCode}
            lengths={lengthsOf(model(), lot().lotCode, props.nowMs)}
            words={words()}
            acts={props.acts}
            say={announcer.say}
            onClose={() => setLengthening(undefined)}
          />
        )}
      </Show>
      <Announcer of={announcer} />
    </div>
  )
}
