/** What is done to a renderer inside the page. Runs in the browser; knows only the six calls. */

import type { Renderer, Vintage } from './timeline-bench-page.tsx'
import { vintageOf } from './timeline-bench-vintage.ts'

export interface Frames {
  readonly frames: number
  readonly median: number
  readonly p95: number
  readonly dropped: number
  readonly gaps: readonly number[]
}

const nextFrame = () => new Promise<number>((done) => requestAnimationFrame(done))
/** After the frame has been handed over: a message comes in once painting is done. */
const painted = async () => {
  await nextFrame()
  await new Promise<void>((done) => {
    const channel = new MessageChannel()
    channel.port1.onmessage = () => {
      channel.port1.close()
      done()
    }
    channel.port2.postMessage(0)
  })
}

let vintage: Vintage | undefined
let renderer: Renderer | undefined
const stage = () => document.getElementById('stage') as HTMLElement
const DAY = 86_400_000
const MIDDLE = Date.UTC(2026, 8, 15)

function windowOf(days: number): [number, number] {
  if (!vintage || days >= 365) return [vintage?.t0 ?? 0, vintage?.t1 ?? 1]
  const from = Math.max(vintage.t0, Math.min(vintage.t1 - days * DAY, MIDDLE - (days * DAY) / 2))
  return [from, from + days * DAY]
}

/** Sixty steps to the second, whether or not the machine keeps up: the same work is asked of every renderer. */
async function animate(frames: number, third: number, step: (share: number) => void): Promise<Frames> {
  const gaps: number[] = []
  let last = await nextFrame()
  for (let i = 1; i <= frames; i++) {
    step((third + i / frames) / 3)
    const at = await nextFrame()
    gaps.push(at - last)
    last = at
  }
  const sorted = gaps.toSorted((a, b) => a - b)
  const at = (share: number) =>
    Number((sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))] ?? 0).toFixed(1))
  // A gap of k screen frames (16.67 ms) has dropped k - 1 of them.
  const dropped = gaps.reduce((sum, gap) => sum + Math.max(0, Math.round(gap / (1000 / 60)) - 1), 0)
  return { frames: gaps.length, median: at(0.5), p95: at(0.95), dropped, gaps }
}

export const steps = {
  make(bars: number, rows: number) {
    // Where other renderers are measured beside ours, all draw the vintage that came with them.
    vintage = window.makeVintage?.({ n: bars, rows, links: true }) ?? vintageOf(bars, rows, 20_261_125)
    renderer = window.ADAPTER ?? window.OURS?.()
    renderer?.prepare?.(vintage)
    return { bars: vintage.bars.length, links: vintage.links.length }
  },
  async mount(days: number, rowh: number, links: boolean) {
    if (!renderer || !vintage) throw new Error('nothing to measure')
    await nextFrame()
    await nextFrame()
    const begun = performance.now()
    const [from, to] = windowOf(days)
    await renderer.mount(stage(), vintage, { from, to, rowh, links })
    while (!renderer.painted() && performance.now() - begun < 30_000) await painted()
    await painted()
    return { label: renderer.label, firstMs: Math.round(performance.now() - begun) }
  },
  async zoom(days: number) {
    const [from, to] = windowOf(days)
    const begun = performance.now()
    await renderer?.setView(from, to)
    await painted()
    const ms = performance.now() - begun
    await new Promise((done) => setTimeout(done, 60))
    return ms
  },
  async toPan(days: number) {
    await steps.zoom(days)
    renderer?.panTo(vintage?.t0 ?? 0, days * DAY)
    await painted()
  },
  pan(days: number, frames: number, third: number) {
    const span = days * DAY
    const room = (vintage?.t1 ?? 0) - (vintage?.t0 ?? 0) - span
    return animate(frames, third, (share) => renderer?.panTo((vintage?.t0 ?? 0) + room * share, span))
  },
  scroll(frames: number, third: number, px: number) {
    const most = Math.min(px, renderer?.maxScrollY() ?? 0)
    return animate(frames, third, (share) => renderer?.scrollY(Math.round(most * share)))
  },
  async top() {
    renderer?.scrollY(0)
    await painted()
  },
  async bar() {
    await steps.zoom(30)
    await new Promise((done) => setTimeout(done, 200))
    return renderer?.barRect?.() ?? null
  },
  drag: () => renderer?.dragInfo?.() ?? null,
  elements: () => document.getElementsByTagName('*').length,
  /** Mounts and unmounts once, for the count of what is left behind. */
  async again() {
    renderer?.unmount?.()
    stage().replaceChildren()
    await painted()
    await steps.mount(30, 24, false)
  },
  unmount() {
    renderer?.unmount?.()
    stage().replaceChildren()
  },
  forget() {
    renderer = undefined
    vintage = undefined
  },
}

declare global {
  interface Window {
    STEPS: typeof steps
    makeVintage?: (wish: { n: number; rows: number; links: boolean }) => Vintage
  }
}
window.STEPS = steps
