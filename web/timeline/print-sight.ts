/** The rows and dates on screen as sheets of paper. */
import { DAY } from '../palette.ts'
import type { Desk } from './desk.ts'
import { printSheets, rowPxFor, type Sheet } from './print.ts'
import { DAY_MS } from './scale.ts'

export type OnDesk = Pick<Desk, 'model' | 'rows' | 'days' | 'load' | 'words' | 'view'> & {
  readonly nowMs: () => number
}

/** On A4. */
export function sheetsInSight(desk: OnDesk): readonly Sheet[] {
  const { fromMs, toMs } = desk.view()
  return printSheets(
    {
      model: desk.model(),
      rows: desk.rows(),
      days: desk.days(),
      load: desk.load(),
      words: desk.words(),
      nowMs: desk.nowMs(),
      palette: { ...DAY, ground: '#FFFFFF' },
      title: 'Season',
    },
    {
      paper: 'A4',
      fromMs,
      toMs,
      weeksPerSheet: Math.max(1, Math.min(13, Math.ceil((toMs - fromMs) / (7 * DAY_MS)))),
      rowPx: rowPxFor(desk.rows().length, 'A4'),
    },
  )
}
