import { createMemo, createSignal, onCleanup } from 'solid-js'
import { DAY, forcedPalette, NIGHT, type Palette } from '../palette.ts'

/** Day, night, or the system's own colours where the reader forces them. */
export function createPalette(ground: () => 'day' | 'night'): () => Palette {
  const query = matchMedia('(forced-colors: active)')
  const [forced, setForced] = createSignal(query.matches)
  const follow = () => setForced(query.matches)
  query.addEventListener('change', follow)
  onCleanup(() => query.removeEventListener('change', follow))
  return createMemo(() => (forced() ? forcedPalette(systemColours()) : ground() === 'night' ? NIGHT : DAY))
}

function systemColours() {
  const probe = document.createElement('span')
  document.body.append(probe)
  const read = (name: string): string => {
    probe.style.color = name
    return hexOf(getComputedStyle(probe).color)
  }
  const colours = {
    canvas: read('Canvas'),
    canvasText: read('CanvasText'),
    highlight: read('Highlight'),
    grayText: read('GrayText'),
  }
  probe.remove()
  return colours
}

function hexOf(rgb: string): string {
  const parts = rgb.match(/\d+/g)?.slice(0, 3) ?? ['0', '0', '0']
  return `#${parts.map((p) => Number(p).toString(16).padStart(2, '0')).join('')}`
}
