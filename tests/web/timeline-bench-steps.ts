/** What is done to a renderer inside the page. Runs in the browser; knows only the six calls. */

import type { Renderer, Vintage } from './timeline-bench-page.tsx'
import { vintageOf } from './timeline-bench-vintage.ts'

export interface Frames {
  readonly frames: number
  readonly median: number
  readonly p95: number
  readonly dropped: number
}

const nextFrame = () => new Promise<number>((done) => requestAnimationFrame(done))
/** After the frame has been handed over: a message comes in once painting is done. */
const painted = async () => {
  await nextFrame()
  await new Promise<void>((done) => {
    const channel = new MessageChannel()
    channel.port1.onmessage = () => done()
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

async function animate(ms: number, step: (share: number) => void): Promise<Frames> {
  const gaps: number[] = []
  const begun = await nextFrame()
  let last = begun
  while (last - begun < ms) {
    step(Math.min(1, (last - begun) / ms))
    const at = await nextFrame()
    gaps.push(at - last)
    last = at
  }
  const sorted = gaps.toSorted((a, b) => a - b)
  const at = (share: number) =>
    Number((sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))] ?? 0).toFixed(1))
  // A gap of k screen frames (16.67 ms) has dropped k - 1 of them.
  const dropped = gaps.reduce((sum, gap) => sum + Math.max(0, Math.round(gap / (1000 / 60)) - 1), 0)
  return { frames: gaps.length, median: at(0.5), p95: at(0.95), dropped }
}

export const steps = {
  make(bars: number, rows: number) {
    vintage = vintageOf(bars, rows, 20_261_125)
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
  async pan(days: number, ms: number) {
    const span = days * DAY
    const room = (vintage?.t1 ?? 0) - (vintage?.t0 ?? 0) - span
    await steps.zoom(days)
    return animate(ms, (share) => renderer?.panTo((vintage?.t0 ?? 0) + room * share, span))
  },
  async scroll(days: number, ms: number, px: number) {
    await steps.zoom(days)
    const most = Math.min(px, renderer?.maxScrollY() ?? 0)
    const frames = await animate(ms, (share) => renderer?.scrollY(Math.round(most * share)))
    renderer?.scrollY(0)
    await painted()
    return frames
  },
  async bar() {
    await steps.zoom(30)
    await new Promise((done) => setTimeout(done, 200))
    return renderer?.barRect?.() ?? null
  },
  y: (px: number) => renderer?.scrollY(px),
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
  }
}
window.STEPS = steps
