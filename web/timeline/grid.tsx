// biome-ignore-all lint/a11y/useSemanticElements: a table could not be laid over a canvas row by row
import { createEffect, createMemo, createSignal, For, on, onCleanup, untrack } from 'solid-js'
import type { Frame } from './frame.ts'
import { keyOf, RowOf } from './grid-row.tsx'
import type { Model } from './model.ts'
import { COLUMNS, layOutline, stepTask } from './outline.ts'
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

  // One timer for a whole pan: it looks again whether frames still come, instead of being set anew by each.
  let dueAt = 0
  const settle = () => {
    const left = wantsFocus ? 0 : dueAt - performance.now()
    timer = left > 4 ? setTimeout(settle, left) : undefined
    if (timer === undefined) setRest(props.frame)
  }
  createEffect(() => {
    if (!props.frame) return
    const isFirst = untrack(rest) === undefined || wantsFocus
    dueAt = performance.now() + (isFirst ? 0 : REST_MS)
    if (isFirst) clearTimeout(timer)
    if (isFirst || timer === undefined) timer = setTimeout(settle, isFirst ? 0 : REST_MS)
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
