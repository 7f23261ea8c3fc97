/** The season's own keys: zoom, now, move, length, find, fold. The treegrid has its own besides. */
import { type Desk, GUTTER_PX, type SeasonProps } from './desk.ts'
import type { Place } from './grid.tsx'
import { scaleOf, zoomed } from './view.ts'

/** @returns whether the key was taken */
export function deskKeys(desk: Desk, props: SeasonProps, event: KeyboardEvent, at: Place | undefined): boolean {
  if (desk.moving.onKey(event)) return true
  if (event.ctrlKey || event.metaKey || event.altKey) return false
  const scale = scaleOf(desk.view(), GUTTER_PX, desk.size().widthPx - GUTTER_PX)
  const focusX = () => {
    const ix = at?.ix ?? desk.selectedIx()
    const aroundMs = ix === undefined ? props.nowMs : (desk.model().startMs[ix] as number)
    const inside = aroundMs > desk.view().fromMs && aroundMs < desk.view().toMs
    return inside ? scale.leftPx + (aroundMs - scale.fromMs) * scale.pxPerMs : scale.leftPx + scale.widthPx / 2
  }
  switch (event.key) {
    case '+':
    case '=':
      desk.setView(zoomed(desk.view(), scale, 1.5, focusX(), desk.model()))
      return true
    case '-':
      desk.setView(zoomed(desk.view(), scale, 1 / 1.5, focusX(), desk.model()))
      return true
    case 't':
      desk.goNow()
      return true
    case 'm':
      if (at?.ix === undefined) return false
      desk.moving.start(at.ix)
      return true
    case 'l':
      return desk.lengthen(at)
    case '/':
      document.querySelector<HTMLInputElement>('.season-bar .find')?.focus()
      return true
    case 'c':
      if (at === undefined) return false
      desk.foldRow(at.rowId)
      return true
    case 'd': {
      const key = at?.ix === undefined ? props.selected : desk.model().plan.tasks[at.ix]?.key
      if (key === undefined || !props.mayMove) return false
      desk.setMoveKey(key)
      return true
    }
    case 'Escape':
      props.onSelect(undefined)
      desk.setCluster([])
      return true
    default:
      return false
  }
}
