/** Ctrl+P on the season: the dates in sight as sheets, instead of a chart that no printer can take. */
import { onCleanup, onMount } from 'solid-js'
import { DAY } from '../palette.ts'
import type { Desk } from './desk.ts'
import { printSheets, rowPxFor, type Sheet } from './print.ts'
import { DAY_MS } from './scale.ts'

export function printHere(sheets: () => readonly Sheet[]): void {
  let holder: HTMLElement | undefined
  const page = new CSSStyleSheet()
  page.replaceSync('@media print { @page { size: A4 landscape; margin: 10mm } }')
  const clear = () => {
    if (!holder) return
    holder.remove()
    holder = undefined
    document.documentElement.classList.remove('printing-sheets')
    document.adoptedStyleSheets = document.adoptedStyleSheets.filter((sheet) => sheet !== page)
  }
  const before = () => {
    // The dialog for printing has laid its own sheets.
    if (document.documentElement.classList.contains('printing-sheets')) return
    holder = document.createElement('div')
    const all = document.createElement('div')
    all.className = 'print-sheets'
    for (const sheet of sheets()) {
      const leaf = document.createElement('div')
      leaf.innerHTML = sheet.svg
      all.append(leaf)
    }
    holder.append(all)
    document.body.append(holder)
    document.documentElement.classList.add('printing-sheets')
    document.adoptedStyleSheets = [...document.adoptedStyleSheets, page]
  }
  onMount(() => {
    window.addEventListener('beforeprint', before)
    window.addEventListener('afterprint', clear)
  })
  onCleanup(() => {
    window.removeEventListener('beforeprint', before)
    window.removeEventListener('afterprint', clear)
    clear()
  })
}

/** The rows and dates on screen, on A4. */
export function sheetsInSight(
  desk: Pick<Desk, 'model' | 'rows' | 'days' | 'load' | 'words' | 'view'> & { readonly nowMs: () => number },
): readonly Sheet[] {
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
