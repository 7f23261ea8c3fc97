// biome-ignore-all lint/a11y/useSemanticElements: a table could not be laid over a canvas row by row
import { createEffect, createMemo, createSignal, For, Index, on, onCleanup, Show } from 'solid-js'
import type { Frame } from './frame.ts'
import { placeOfTask } from './hit.ts'
import type { Model } from './model.ts'
import { COLUMNS, layOutline, rowWords, stepTask, taskCells, tasksInWindow } from './outline.ts'
import type { Row } from './rows.ts'
import type { Words } from './words.ts'

/** Which row has the focus, and which of its tasks if one. */
export interface Place {
  readonly rowId: string
  readonly ix?: number
}

export interface GridProps {
  readonly frame: Frame | undefined
  readonly model: Model
  readonly rows: readonly Row[]
  readonly words: Words
  readonly nowMs: number
  readonly label: string
  readonly place: Place | undefined
  readonly onPlace: (place: Place) => void
  readonly onOpen: (ix: number) => void
  /** Keys that are not the treegrid's own: zoom, now, move. True when taken. */
  readonly onKey: (event: KeyboardEvent, place: Place) => boolean
  readonly reveal: (place: Place) => void
  /** Rises when the focus should come back: a panel over the chart was closed. */
  readonly recall?: number
}

/** Long enough that a pan in progress touches no element. */
const REST_MS = 110

/**
 * The chart for those who hear it or steer it by keys: a real treegrid over the canvas, of the visible rows only.
 * Source of keys and numbers: W3C ARIA Authoring Practices, treegrid pattern; grid and table properties.
 */
export function Grid(props: GridProps) {
  let host!: HTMLDivElement
  const [opened, setOpened] = createSignal<ReadonlySet<string>>(new Set())
  const [rest, setRest] = createSignal<Frame>()
  let timer: ReturnType<typeof setTimeout> | undefined
  let wantsFocus = false

  createEffect(() => {
    const frame = props.frame
    clearTimeout(timer)
    if (frame) timer = setTimeout(() => setRest(frame), rest() === undefined || wantsFocus ? 0 : REST_MS)
  })
  onCleanup(() => clearTimeout(timer))

  const outline = createMemo(() => layOutline(props.rows, opened()))
  const rowAt = (id: string) => props.rows.findIndex((r) => r.id === id)
  const place = (): Place | undefined => {
    const at = props.place
    if (at && rowAt(at.rowId) >= 0) return at
    const first = props.rows[0]
    return first && { rowId: first.id }
  }

  /** Rows in the document: the visible ones, and the focused one wherever it is. */
  const shown = createMemo(() => {
    const frame = rest()
    if (!frame) return []
    const indices = new Set(frame.rows.map((r) => r.index).filter((i) => i < props.rows.length))
    const at = place()
    if (at) indices.add(rowAt(at.rowId))
    return [...indices].sort((a, b) => a - b)
  })

  createEffect(() => {
    const at = place()
    shown()
    rest()
    if (!at || !(wantsFocus || host.contains(document.activeElement))) return
    const target = [...host.querySelectorAll<HTMLElement>('[data-place]')].find((e) => e.dataset.place === keyOf(at))
    if (target && target !== document.activeElement) target.focus({ preventScroll: true })
    if (target) wantsFocus = false
  })

  createEffect(
    on(
      () => props.recall,
      () => {
        const at = props.place
        // A dialog hands the focus back by itself first; only where it fell to the page is it fetched.
        const wait = setTimeout(() => {
          if (at && document.activeElement === document.body)
            [...host.querySelectorAll<HTMLElement>('[data-place]')]
              .find((e) => e.dataset.place === keyOf(at))
              ?.focus({ preventScroll: true })
        }, 60)
        onCleanup(() => clearTimeout(wait))
      },
      { defer: true },
    ),
  )

  const go = (next: Place | undefined) => {
    if (!next) return
    if (next.ix !== undefined && !opened().has(next.rowId)) setOpened(new Set([...opened(), next.rowId]))
    wantsFocus = true
    props.onPlace(next)
    props.reveal(next)
  }
  const toRow = (index: number) => {
    const row = props.rows[Math.max(0, Math.min(props.rows.length - 1, index))]
    if (row) go({ rowId: row.id })
  }

  const key = (event: KeyboardEvent) => {
    const at = place()
    if (!at) return
    if (props.onKey(event, at)) {
      event.preventDefault()
      return
    }
    if (event.ctrlKey && event.key !== 'Home' && event.key !== 'End') return
    const index = rowAt(at.rowId)
    const row = props.rows[index] as Row
    const step = (by: 1 | -1) => {
      const ix = stepTask(row, props.model, at.ix, by, props.nowMs)
      if (ix !== undefined) go({ rowId: row.id, ix })
    }
    const acts: Readonly<Record<string, () => void>> = {
      ArrowDown: () => (at.ix === undefined ? toRow(index + 1) : lastOf(row, at.ix) ? toRow(index + 1) : step(1)),
      ArrowUp: () =>
        at.ix === undefined ? toRow(index - 1) : row.tasks.ix[0] === at.ix ? go({ rowId: row.id }) : step(-1),
      ArrowRight: () => {
        if (at.ix !== undefined || row.tasks.ix.length === 0) return
        if (opened().has(row.id)) step(1)
        else setOpened(new Set([...opened(), row.id]))
      },
      ArrowLeft: () => {
        if (at.ix !== undefined) go({ rowId: row.id })
        else setOpened(new Set([...opened()].filter((id) => id !== row.id)))
      },
      Home: () => toRow(0),
      End: () => toRow(props.rows.length - 1),
      PageDown: () => toRow(index + Math.max(1, (rest()?.rows.length ?? 2) - 1)),
      PageUp: () => toRow(index - Math.max(1, (rest()?.rows.length ?? 2) - 1)),
      n: () => step(1),
      p: () => step(-1),
      Enter: () => at.ix !== undefined && props.onOpen(at.ix),
      ' ': () => at.ix !== undefined && props.onOpen(at.ix),
    }
    const act = acts[event.key.length === 1 ? event.key.toLowerCase() : event.key]
    if (!act) return
    event.preventDefault()
    event.stopPropagation()
    act()
  }

  return (
    <div
      class="chart-grid"
      ref={host}
      role="treegrid"
      tabIndex={-1}
      aria-label={props.label}
      aria-rowcount={outline().rowCount}
      aria-colcount={COLUMNS.length}
      onKeyDown={key}
    >
      <div role="row" class="head-row" aria-rowindex={1} tabIndex={-1}>
        <For each={COLUMNS}>
          {(name, i) => (
            <span role="columnheader" tabIndex={-1} aria-colindex={i() + 1}>
              {name}
            </span>
          )}
        </For>
      </div>
      <For each={shown()}>
        {(index) => (
          <RowOf
            index={index}
            grid={props}
            frame={rest()}
            rowIndex={outline().rowIndex[index] ?? 0}
            opened={opened().has(props.rows[index]?.id ?? '')}
            place={place()}
            onFocus={(at) => props.onPlace(at)}
          />
        )}
      </For>
    </div>
  )
}

const lastOf = (row: Row, ix: number): boolean => row.tasks.ix[row.tasks.ix.length - 1] === ix

export const keyOf = (place: Place): string => (place.ix === undefined ? place.rowId : `${place.rowId} ${place.ix}`)

function RowOf(props: {
  readonly index: number
  readonly grid: GridProps
  readonly frame: Frame | undefined
  readonly rowIndex: number
  readonly opened: boolean
  readonly place: Place | undefined
  readonly onFocus: (place: Place) => void
}) {
  const row = () => props.grid.rows[props.index] as Row
  const placed = () => props.frame?.rows.find((r) => r.index === props.index)
  const isHere = (ix?: number) => props.place?.rowId === row().id && props.place.ix === ix
  const places = createMemo(() => {
    const frame = props.frame
    if (!props.opened || !frame) return []
    const inWindow = new Set(tasksInWindow(row(), props.grid.model, frame.scale.fromMs, frame.scale.toMs))
    if (props.place?.rowId === row().id && props.place.ix !== undefined)
      inWindow.add(row().tasks.ix.indexOf(props.place.ix))
    return [...inWindow].sort((a, b) => a - b)
  })
  return (
    <Show when={props.grid.rows[props.index]}>
      <div
        role="row"
        class="lot-row"
        aria-level={1}
        aria-rowindex={props.rowIndex}
        aria-expanded={row().tasks.ix.length > 0 ? props.opened : undefined}
        tabIndex={isHere() ? 0 : -1}
        data-place={row().id}
        onFocus={(event) => event.target === event.currentTarget && props.onFocus({ rowId: row().id })}
        style={{
          top: `${placed()?.place.y ?? -999}px`,
          height: `${placed()?.place.h ?? 20}px`,
        }}
      >
        <span role="rowheader" tabIndex={-1} aria-colindex={1}>
          {row().label} {row().note}
        </span>
        <span role="gridcell" tabIndex={-1} aria-colindex={2} aria-colspan={6}>
          {rowWords(props.grid.model, row(), props.grid.words, props.grid.nowMs)}
        </span>
      </div>
      <Index each={places()}>
        {(at) => {
          const ix = () => row().tasks.ix[at()] as number
          const spot = () => props.frame && placeOfTask(props.frame, ix())
          return (
            <div
              role="row"
              class="task-row"
              aria-level={2}
              aria-rowindex={props.rowIndex + 1 + at()}
              tabIndex={isHere(ix()) ? 0 : -1}
              data-place={keyOf({ rowId: row().id, ix: ix() })}
              onFocus={() => props.onFocus({ rowId: row().id, ix: ix() })}
              style={{
                left: `${(spot()?.x ?? -999) - 12}px`,
                top: `${(spot()?.y ?? -999) - 12}px`,
              }}
            >
              <For each={taskCells(props.grid.model, ix(), props.grid.words)}>
                {(words, i) => (
                  <span role="gridcell" tabIndex={-1} aria-colindex={i() + 1}>
                    {words}
                  </span>
                )}
              </For>
            </div>
          )
        }}
      </Index>
    </Show>
  )
}
