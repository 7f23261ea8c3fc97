import { createComputed, createEffect, createMemo, createSignal, on, onCleanup, Show, untrack } from 'solid-js'
import type { Palette } from '../palette.ts'
import { Announcer, createAnnouncer } from './announce.tsx'
import { SeasonBar } from './bar.tsx'
import { axisPx, Chart } from './chart.tsx'
import type { Days } from './days.ts'
import { layDays } from './days.ts'
import type { Frame } from './frame.ts'
import { Grid, type Place } from './grid.tsx'
import { Legend } from './legend.tsx'
import { layLoad } from './load.ts'
import { buildModel, type Model, msOfWire, type SeasonPlan, wireOfMs } from './model.ts'
import { beginMove, isMoved, keyedTo, type Move, type MoveKey, moveTo, stepMin, withFollowers } from './move.ts'
import { MoveBox } from './move-box.tsx'
import { MoveTo } from './move-to.tsx'
import { ARRANGED, type Arrangement, arrangeRows, type Row } from './rows.ts'
import { DAY_MS } from './scale.ts'
import { moveRules, nameOf } from './verdict.ts'
import { revealed, scaleOf, spanAround, type View, zoomed } from './view.ts'
import type { TaskWire } from './wire.ts'
import { wordsFor } from './words.ts'
import './timeline.css'

export interface Preview {
  readonly allowed: boolean
  readonly words: string
  readonly changed: readonly TaskWire[]
}

export interface SeasonActs {
  preview(key: string, wish: MoveWish): Promise<Preview>
  /** Keeps a move; false when the server refused and said so. */
  keep(key: string, wish: MoveWish): Promise<boolean>
  undo(key: string): Promise<boolean>
}

export interface MoveWish {
  readonly startAt: string
  readonly people?: readonly string[]
  readonly andFollows: boolean
}

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
}

/** The whole desk: controls, chart, grid, move, words. It fetches nothing. */
export function Season(props: SeasonProps) {
  const model = createMemo(() => buildModel(props.plan))
  const days = createMemo<Days>(() => layDays(model().firstMs - 90 * DAY_MS, model().lastMs + 90 * DAY_MS, props.zone))
  const words = createMemo(() => wordsFor(props.language, props.zone))
  const load = createMemo(() => layLoad(model(), days()))
  const rules = createMemo(() => moveRules(model(), days(), words(), props.nowMs))
  const [arrangement, setArrangement] = createSignal<Arrangement>(ARRANGED)
  const rows = createMemo(() => arrangeRows(model(), arrangement(), props.nowMs))
  const [view, setView] = createSignal<View>(untrack(() => spanAround('month', props.nowMs, days(), model())))
  const [frame, setFrame] = createSignal<Frame>()
  const [size, setSize] = createSignal({ widthPx: 1000, heightPx: 700 })
  const [move, setMove] = createSignal<Move>()
  const [held, setHeld] = createSignal(false)
  const [preview, setPreview] = createSignal<Preview>()
  const [moving, setMoving] = createSignal<string>()
  const [place, setPlace] = createSignal<Place>()
  const [cluster, setCluster] = createSignal<readonly number[]>([])
  const [atOnce, setAtOnce] = createSignal(false)
  const [allLinks, setAllLinks] = createSignal(false)
  const [kept, setKept] = createSignal<ReadonlyMap<string, readonly [number, number]>>()
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
      const going = untrack(move)
      if (going) {
        const ix = again(going.ix)
        setMove(ix === undefined ? undefined : { ...going, ix })
      }
      setCluster([])
      return next
    }),
  )
  const announcer = createAnnouncer()
  const [recall, setRecall] = createSignal(0)
  createEffect(
    on(
      () => props.selected === undefined && moving() === undefined,
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
  const days_ = () => (view().toMs - view().fromMs) / DAY_MS

  const sayMove = (at: Move) => {
    const name = nameOf(model(), at.ix)
    const sentence = `${name}, ${words().momentLong(at.startMs)}. ${at.verdict.words}`
    if (at.verdict.level === 'no') announcer.refuse(sentence)
    else announcer.say(sentence)
  }
  const startMove = (ix: number) => {
    if (!props.mayMove || model().state[ix] === 3) {
      announcer.refuse(props.mayMove ? 'What is done does not move.' : 'Only a winemaker may move work.')
      return
    }
    setHeld(true)
    const at = beginMove(rules(), ix)
    setMove(at)
    announcer.say(
      `Moving ${nameOf(model(), ix)}. Arrows step, Shift with arrows a day, Enter keeps, Escape leaves it. ${at.verdict.words}`,
    )
  }
  const endMove = (sentence?: string) => {
    setMove(undefined)
    setHeld(false)
    setPreview(undefined)
    if (sentence) announcer.say(sentence)
  }
  const keepMove = async () => {
    const at = move()
    if (!at) return
    if (!isMoved(at, model())) return endMove('Nothing was moved.')
    const key = model().plan.tasks[at.ix]?.key ?? ''
    const name = nameOf(model(), at.ix)
    announcer.say(`Moving ${name}.`)
    const done = await props.acts.keep(key, wishOf(at))
    if (done) endMove(`${name} moved to ${words().momentLong(at.startMs)}. Control Z takes it back.`)
    else announcer.refuse(`${name} was not moved.`)
  }

  // The server looks at the whole plan; it is asked once the hand rests.
  let asking: ReturnType<typeof setTimeout> | undefined
  createEffect(
    on([move, held], ([at, isHeld]) => {
      clearTimeout(asking)
      setPreview(undefined)
      if (!at || !isHeld || !isMoved(at, model())) return
      asking = setTimeout(() => {
        const key = model().plan.tasks[at.ix]?.key ?? ''
        props.acts.preview(key, wishOf(at)).then(
          (answer) => move() === at && setPreview(answer),
          () => undefined,
        )
      }, 350)
    }),
  )
  onCleanup(() => clearTimeout(asking))

  const trial = () =>
    preview()
      ?.changed.map((t) => ({ ix: model().ixOf.get(t.key) ?? -1, startMs: msOfWire(t.startAt) }))
      .filter((t) => t.ix >= 0 && t.ix !== move()?.ix)

  const moveKeys = (event: KeyboardEvent, at: Move): boolean => {
    const turn = (key: MoveKey) => {
      const next = moveTo(rules(), at, keyedTo(days(), at, key, stepMin(days_())), at.person)
      setMove(next)
      setView(revealed(view(), next.startMs))
      sayMove(next)
    }
    switch (event.key) {
      case 'ArrowLeft':
        turn(event.shiftKey ? 'day-back' : 'step-back')
        return true
      case 'ArrowRight':
        turn(event.shiftKey ? 'day-on' : 'step-on')
        return true
      case 'ArrowUp':
      case 'ArrowDown':
        turnPerson(at, event.key === 'ArrowDown' ? 1 : -1)
        return true
      case 'Home':
        turn('earliest')
        return true
      case 'End':
        turn('latest')
        return true
      case 'f':
        setMove(withFollowers(rules(), at, !at.andFollows))
        return true
      case 'Enter':
        void keepMove()
        return true
      case 'Escape':
        endMove('The task stays where it was.')
        return true
      default:
        return false
    }
  }
  const turnPerson = (at: Move, by: 1 | -1) => {
    const people = model().plan.people
    const now = people.findIndex((p) => p.id === (at.person ?? model().plan.tasks[at.ix]?.people[0]))
    const person = people[(now + by + people.length) % people.length]
    if (!person) return
    const next = moveTo(rules(), at, at.startMs, person.id)
    setMove(next)
    announcer.say(`${person.name}. ${next.verdict.words}`)
  }

  const deskKeys = (event: KeyboardEvent, at: Place | undefined): boolean => {
    const going = move()
    if (going && moveKeys(event, going)) return true
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
        startMove(at.ix)
        return true
      case 'd': {
        const key = at?.ix === undefined ? props.selected : model().plan.tasks[at.ix]?.key
        if (key === undefined || !props.mayMove) return false
        setMoving(key)
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

  const select = (members: readonly number[]) => {
    setCluster(members.length > 1 ? members : [])
    props.onSelect(members.length === 1 ? model().plan.tasks[members[0] as number]?.key : undefined)
  }
  const onRow = (row: Row) => {
    const folded = arrangement().folded
    setArrangement({
      ...arrangement(),
      folded: folded.includes(row.id) ? folded.filter((id) => id !== row.id) : [...folded, row.id],
    })
  }
  const keepPlan = () =>
    setKept(kept() ? undefined : new Map(model().phases.map((p) => [p.key, [p.startMs, p.endMs] as const])))

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
        onMoveTo={() => setMoving(props.selected)}
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
        {...(move() && { move: move() as Move })}
        {...(trial() && { trial: trial() as NonNullable<ReturnType<typeof trial>> })}
        {...(kept() && { kept: kept() as NonNullable<ReturnType<typeof kept>> })}
        allLinks={allLinks()}
        mayMove={props.mayMove && move() === undefined}
        onSelect={select}
        onRow={onRow}
        onMove={(next) => {
          setHeld(false)
          setMove(next)
          if (next) sayMove(next)
        }}
        onDrop={(at) => {
          setMove({ ...at })
          setHeld(true)
        }}
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
            <Show when={move()}>
              {(at) => (
                <MoveBox
                  move={at()}
                  model={model()}
                  words={words()}
                  held={held()}
                  preview={preview()}
                  onFollows={(andFollows) => setMove(withFollowers(rules(), at(), andFollows))}
                  onNearest={(ms) => {
                    setHeld(true)
                    setMove(moveTo(rules(), at(), ms, at().person))
                  }}
                  onKeep={() => void keepMove()}
                  onCancel={() => endMove('The task stays where it was.')}
                />
              )}
            </Show>
          </>
        )}
      </Chart>
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
      <Show when={moving()}>
        {(key) => (
          <MoveTo
            rules={rules()}
            ix={model().ixOf.get(key()) ?? 0}
            acts={props.acts}
            announce={announcer}
            onClose={() => setMoving(undefined)}
          />
        )}
      </Show>
      <Announcer of={announcer} />
    </div>
  )
}

const wishOf = (at: Move): MoveWish => ({
  startAt: wireOfMs(at.startMs),
  andFollows: at.andFollows,
  ...(at.person && { people: [at.person] }),
})

function ClusterList(props: {
  readonly model: Model
  readonly members: readonly number[]
  readonly words: ReturnType<typeof wordsFor>
  readonly onPick: (ix: number) => void
  readonly onClose: () => void
}) {
  return (
    <div class="cluster" role="dialog" aria-label={`${props.members.length} tasks close together`}>
      <header>
        <strong>{props.members.length} tasks</strong>
        <button type="button" onClick={() => props.onClose()}>
          Close
        </button>
      </header>
      <ul>
        {props.members.map((ix) => (
          <li>
            <button type="button" onClick={() => props.onPick(ix)}>
              <span>{props.words.moment(props.model.startMs[ix] as number)}</span> {props.model.plan.tasks[ix]?.name}
            </button>
          </li>
        ))}
      </ul>
    </div>
  )
}
