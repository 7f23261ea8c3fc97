// biome-ignore-all lint/a11y/useSemanticElements: a table could not be laid over a canvas row by row
import { createMemo, For, Index, Show } from 'solid-js'
import type { Frame } from './frame.ts'
import type { GridProps, Place } from './grid.tsx'
import { placeOfTask } from './hit.ts'
import { rowWords, taskCells, tasksInWindow } from './outline.ts'
import type { Row } from './rows.ts'

export const keyOf = (place: Place): string => (place.ix === undefined ? place.rowId : `${place.rowId} ${place.ix}`)

/** A row of the treegrid and, where it is opened, its tasks in sight. */
export function RowOf(props: {
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
