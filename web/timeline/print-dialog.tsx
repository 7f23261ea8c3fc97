import { createMemo, createSignal, For, onCleanup } from 'solid-js'
import { Portal } from 'solid-js/web'
import { DAY, PAPER } from '../palette.ts'
import { Button } from '../parts/button.tsx'
import { Dialog } from '../parts/dialog.tsx'
import { dayIndex, layDays } from './days.ts'
import { layLoad } from './load.ts'
import { buildModel, type SeasonPlan } from './model.ts'
import { onPaper, type Paper, type PrintWish, printSheets, rowPxFor, WALL_ROW_PX } from './print.ts'
import { type Arrangement, arrangeRows } from './rows.ts'
import { DAY_MS } from './scale.ts'
import type { View } from './view.ts'
import { wordsFor } from './words.ts'

type What = 'view' | 'week' | 'season'

const WHAT: readonly (readonly [What, string])[] = [
  ['view', 'The dates on screen'],
  ['week', 'Wall sheet of this week'],
  ['season', 'The whole plan'],
]

/** What to print, on what paper, and the first sheet as it will be. PDF comes from the browser's own print. */
export function PrintDialog(props: {
  readonly plan: SeasonPlan
  readonly zone: string
  readonly language: string
  readonly nowMs: number
  readonly cellarName: string
  readonly view: View
  readonly arrangement: Arrangement
  readonly onClose: () => void
}) {
  const [what, setWhat] = createSignal<What>('view')
  const [paper, setPaper] = createSignal<Paper>('A4')
  const [plain, setPlain] = createSignal(false)
  const [links, setLinks] = createSignal(false)
  const model = createMemo(() => buildModel(props.plan, undefined, props.zone))
  const days = createMemo(() => layDays(model().firstMs - 90 * DAY_MS, model().lastMs + 90 * DAY_MS, props.zone))
  const rows = createMemo(() => arrangeRows(model(), { ...props.arrangement, folded: [] }, props.nowMs))
  const wish = createMemo<PrintWish>(() => {
    const today = dayIndex(days(), props.nowMs)
    const monday = today - ((days().weekday[today] as number) - 1)
    const at = (i: number) => days().startMs[Math.max(0, Math.min(days().startMs.length - 1, i))] as number
    if (what() === 'week')
      return {
        paper: paper(),
        fromMs: at(monday),
        toMs: at(monday + 7),
        weeksPerSheet: 1,
        rowPx: WALL_ROW_PX,
        links: links(),
      }
    const [fromMs, toMs] = what() === 'view' ? [props.view.fromMs, props.view.toMs] : [model().firstMs, model().lastMs]
    const weeks = Math.max(1, Math.ceil((toMs - fromMs) / (7 * DAY_MS)))
    return {
      paper: paper(),
      fromMs,
      toMs,
      weeksPerSheet: Math.min(weeks, paper() === 'A3' ? 17 : 13),
      rowPx: rowPxFor(rows().length, paper()),
      links: links(),
    }
  })
  const sheets = createMemo(() =>
    printSheets(
      {
        model: model(),
        rows: rows(),
        days: days(),
        load: layLoad(model(), days()),
        words: wordsFor(props.language, props.zone),
        nowMs: props.nowMs,
        palette: plain() ? blackAndWhite : { ...DAY, ground: '#FFFFFF' },
        title: props.cellarName,
      },
      wish(),
    ),
  )
  const firstSvg = () => {
    const sheet = sheets()[0]
    return sheet ? onPaper(sheet, paper()) : ''
  }
  const first = () => `data:image/svg+xml,${encodeURIComponent(firstSvg())}`
  // Made as an object: the page's own policy forbids style elements and attributes.
  const paperSheet = new CSSStyleSheet()
  document.adoptedStyleSheets = [...document.adoptedStyleSheets, paperSheet]
  onCleanup(() => {
    document.adoptedStyleSheets = document.adoptedStyleSheets.filter((sheet) => sheet !== paperSheet)
  })
  const print = () => {
    paperSheet.replaceSync(`@media print { @page { size: ${paper()} landscape; margin: 10mm } }`)
    document.documentElement.classList.add('printing-sheets')
    window.print()
    document.documentElement.classList.remove('printing-sheets')
  }
  onCleanup(() => document.documentElement.classList.remove('printing-sheets'))
  const save = async (kind: 'svg' | 'png') => {
    const svg = firstSvg()
    const blob = kind === 'svg' ? new Blob([svg], { type: 'image/svg+xml' }) : await pngOf(svg)
    const link = document.createElement('a')
    link.href = URL.createObjectURL(blob)
    link.download = `season.${kind}`
    link.click()
    URL.revokeObjectURL(link.href)
  }
  return (
    <Dialog open broad title="Print and export" onClose={props.onClose}>
      <div class="stack">
        <div class="row">
          <fieldset class="words" aria-label="What to print">
            <For each={WHAT}>
              {([kind, word]) => (
                <button type="button" aria-pressed={what() === kind} onClick={() => setWhat(kind)}>
                  {word}
                </button>
              )}
            </For>
          </fieldset>
          <fieldset class="words" aria-label="Paper">
            <For each={['A4', 'A3'] as const}>
              {(size) => (
                <button type="button" aria-pressed={paper() === size} onClick={() => setPaper(size)}>
                  {size}
                </button>
              )}
            </For>
            <button type="button" aria-pressed={plain()} onClick={() => setPlain(!plain())}>
              Black and white
            </button>
            <button type="button" aria-pressed={links()} onClick={() => setLinks(!links())}>
              Links
            </button>
          </fieldset>
        </div>
        <p role="status">
          {sheets().length} {sheets().length === 1 ? 'sheet' : 'sheets'}, {paper()} across. Every sheet has its dates,
          its names and its own key.
        </p>
        <img class="sheet-proof" src={first()} alt="The first sheet" />
        <div class="row">
          <Button kind="main" onClick={print}>
            Print
          </Button>
          <Button onClick={() => void save('svg')}>First sheet as SVG</Button>
          <Button onClick={() => void save('png')}>First sheet as PNG</Button>
        </div>
      </div>
      <Portal>
        <div class="print-sheets" aria-hidden="true">
          <For each={sheets()}>{(sheet) => <div innerHTML={sheet.svg} />}</For>
        </div>
      </Portal>
    </Dialog>
  )
}

/** Hues off: the outline, the hatch and the red bar's place must say it all. */
const blackAndWhite = {
  ...PAPER,
  kinds: { juice: '#000', ferment: '#000', check: '#000', move: '#000', lees: '#000', protect: '#000' },
  tints: { juice: '#FFF', ferment: '#FFF', check: '#FFF', move: '#FFF', lees: '#FFF', protect: '#FFF' },
  late: '#000',
  conflict: '#000',
  done: '#777',
}

async function pngOf(svg: string): Promise<Blob> {
  const picture = new Image()
  picture.src = `data:image/svg+xml,${encodeURIComponent(svg)}`
  await picture.decode()
  const canvas = new OffscreenCanvas(picture.naturalWidth * 2, picture.naturalHeight * 2)
  canvas.getContext('2d')?.drawImage(picture, 0, 0, canvas.width, canvas.height)
  return canvas.convertToBlob({ type: 'image/png' })
}
