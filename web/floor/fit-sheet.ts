/** Lays a printed list on one A4 sheet: smaller where it is long, never so small that nobody reads it. */

/** A4 without its margins of 12 mm, and a little less, since printers round. */
const PAGE_MM = { width: 186, height: 270 }
const SMALLEST = 0.6
const STEP = 0.05

/** Measures each sheet before the browser prints it. @returns how to stop */
export function fitOnPrint(sheets: () => readonly HTMLElement[]): () => void {
  const fit = () => {
    for (const sheet of sheets()) sheet.style.zoom = String(zoomOf(sheet))
  }
  window.addEventListener('beforeprint', fit)
  return () => window.removeEventListener('beforeprint', fit)
}

/** The largest zoom at which it stands on one page; where none does, it goes on on the next. */
function zoomOf(sheet: HTMLElement): number {
  const before = sheet.getAttribute('style') ?? ''
  for (let zoom = 1; zoom >= SMALLEST; zoom -= STEP) {
    sheet.style.cssText = `display:block;position:absolute;visibility:hidden;zoom:1;width:${PAGE_MM.width / zoom}mm`
    const mm = (sheet.offsetHeight * 25.4) / 96
    sheet.style.cssText = before
    if (mm * zoom <= PAGE_MM.height) return zoom
  }
  return 1
}
