/** Ctrl+P on the season: the dates in sight as sheets, instead of a chart that no printer can take. */
import { onCleanup, onMount } from 'solid-js'
import { atRest } from '../parts/at-rest.ts'
import type { OnDesk } from './print-sight.ts'

export function printHere(desk: OnDesk): void {
  let holder: HTMLElement | undefined
  // Printing cannot wait for anything to be fetched.
  let sheets: (() => readonly { readonly svg: string }[]) | undefined
  const fetched = atRest(() => {
    import('./print-sight.ts').then(
      ({ sheetsInSight }) => {
        sheets = () => sheetsInSight(desk)
      },
      () => {},
    )
  })
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
    if (!sheets || document.documentElement.classList.contains('printing-sheets')) return
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
    fetched()
    window.removeEventListener('beforeprint', before)
    window.removeEventListener('afterprint', clear)
    clear()
  })
}
