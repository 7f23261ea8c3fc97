/** Where one looks: a span of time and a height in the rows. Every gesture and key ends here. */
import { type Days, dayIndex } from './days.ts'
import type { Model } from './model.ts'
import { DAY_MS, keepWithin, panBy, type Scale, timeScale, zoomAt } from './scale.ts'

export interface View {
  readonly fromMs: number
  readonly toMs: number
  readonly scrollPx: number
}

export type Span = 'day' | 'week' | 'month' | 'season' | 'all'

export function spanAround(span: Span, aroundMs: number, days: Days, model: Model): View {
  const start = (by: number) =>
    days.startMs[Math.max(0, Math.min(days.startMs.length - 1, dayIndex(days, aroundMs) + by))] as number
  const of = (fromMs: number, lengthDays: number): View => ({ fromMs, toMs: fromMs + lengthDays * DAY_MS, scrollPx: 0 })
  switch (span) {
    case 'day':
      return of(start(0), 1)
    case 'week':
      return of(start(-1), 7)
    case 'month':
      return of(start(-7), 31)
    case 'season':
      return of(start(-21), 120)
    case 'all': {
      const spanMs = Math.max(30 * DAY_MS, model.lastMs - model.firstMs)
      return { fromMs: model.firstMs - spanMs * 0.02, toMs: model.lastMs + spanMs * 0.02, scrollPx: 0 }
    }
  }
}

export const scaleOf = (view: View, leftPx: number, widthPx: number): Scale =>
  timeScale(view.fromMs, view.toMs, Math.max(1, widthPx), leftPx)

const withScale = (view: View, scale: Scale): View => ({ ...view, fromMs: scale.fromMs, toMs: scale.toMs })

export const zoomed = (view: View, scale: Scale, factor: number, anchorPx: number, model: Model): View =>
  withScale(view, keepWithin(zoomAt(scale, factor, anchorPx), model.firstMs, model.lastMs))

export const panned = (view: View, scale: Scale, dxPx: number, model: Model): View =>
  withScale(view, keepWithin(panBy(scale, dxPx), model.firstMs, model.lastMs))

export const scrolled = (view: View, toPx: number, contentPx: number, bodyPx: number): View => ({
  ...view,
  scrollPx: Math.max(0, Math.min(Math.max(0, contentPx - bodyPx), toPx)),
})

/** Brings a moment into sight with the least movement. */
export function revealed(view: View, atMs: number): View {
  const spanMs = view.toMs - view.fromMs
  const marginMs = spanMs * 0.08
  if (atMs < view.fromMs + marginMs) return { ...view, fromMs: atMs - marginMs, toMs: atMs - marginMs + spanMs }
  if (atMs > view.toMs - marginMs) return { ...view, fromMs: atMs + marginMs - spanMs, toMs: atMs + marginMs }
  return view
}
