import { onCleanup, onMount } from 'solid-js'
import type { Hit } from './hit.ts'

export interface GestureTarget {
  host(): HTMLElement
  hit(x: number, y: number, reachPx: number): Hit | undefined
  mayLift(hit: Hit): boolean
  pan(dxPx: number, dyPx: number): void
  zoom(factor: number, xPx: number): void
  scroll(dyPx: number): void
  /** More rows than fit. */
  overflows(): boolean
  inAxis(y: number): boolean
  hover(hit: Hit | undefined): void
  click(hit: Hit | undefined, y: number, x: number): void
  lift(hit: Hit): void
  carry(x: number, y: number, heldX: number): void
  drop(): void
  cancel(): void
  /** The end of a band that may be drawn out lies here. */
  overEdge(x: number, y: number, reachPx: number): boolean
  takeEdge(x: number, y: number, reachPx: number): void
  drawEdge(x: number): void
  dropEdge(): void
}

const SLOP_PX = 4
const LONG_PRESS_MS = 450

type Grip =
  | { readonly kind: 'none' }
  | {
      readonly kind: 'down'
      readonly x: number
      readonly y: number
      readonly hit: Hit | undefined
      readonly touch: boolean
    }
  | { readonly kind: 'pan' }
  | { readonly kind: 'carry'; readonly heldX: number }
  | { readonly kind: 'edge' }
  | { readonly kind: 'pinch'; readonly apartPx: number; readonly x: number; readonly y: number }

/** Mouse: drag a peg to move it, a band's end to draw it out, the ground to pan. Finger: one pans, a long press lifts, two pinch. Escape and a lost pointer restore. */
export function createGestures(target: GestureTarget) {
  const fingers = new Map<number, { x: number; y: number }>()
  let grip: Grip = { kind: 'none' }
  let press: ReturnType<typeof setTimeout> | undefined
  let last = { x: 0, y: 0 }

  const at = (event: PointerEvent | WheelEvent) => {
    const box = target.host().getBoundingClientRect()
    return { x: event.clientX - box.left, y: event.clientY - box.top }
  }
  const stopPress = () => {
    clearTimeout(press)
    press = undefined
  }
  const isHeld = () => grip.kind === 'carry' || grip.kind === 'edge'
  const edgeReach = (event: PointerEvent) => (event.pointerType === 'touch' ? 14 : 6)
  const reachOf = (event: PointerEvent) => (event.pointerType === 'touch' ? 24 : 12)

  const down = (event: PointerEvent) => {
    if (event.button !== 0 || (event.target instanceof Element && event.target.closest('button, input, select, a')))
      return
    const point = at(event)
    fingers.set(event.pointerId, point)
    last = point
    target.host().setPointerCapture(event.pointerId)
    if (fingers.size === 2) {
      stopPress()
      if (isHeld()) target.cancel()
      grip = pinch()
      return
    }
    const isEdge = !target.inAxis(point.y) && target.overEdge(point.x, point.y, edgeReach(event))
    if (isEdge) {
      target.takeEdge(point.x, point.y, edgeReach(event))
      grip = { kind: 'edge' }
      return
    }
    const hit = target.inAxis(point.y) ? undefined : target.hit(point.x, point.y, reachOf(event))
    const touch = event.pointerType === 'touch'
    grip = { kind: 'down', ...point, hit, touch }
    if (touch && hit && target.mayLift(hit))
      press = setTimeout(() => {
        grip = { kind: 'carry', heldX: point.x }
        navigator.vibrate?.(12)
        target.lift(hit)
      }, LONG_PRESS_MS)
  }

  const move = (event: PointerEvent) => {
    const point = at(event)
    if (fingers.has(event.pointerId)) fingers.set(event.pointerId, point)
    switch (grip.kind) {
      case 'none':
        if (event.pointerType === 'touch') return
        target.host().style.cursor = !target.inAxis(point.y) && target.overEdge(point.x, point.y, 6) ? 'ew-resize' : ''
        target.hover(target.inAxis(point.y) ? undefined : target.hit(point.x, point.y, 12))
        return
      case 'down': {
        if (Math.hypot(point.x - grip.x, point.y - grip.y) < SLOP_PX) return
        stopPress()
        target.hover(undefined)
        if (!grip.touch && grip.hit && target.mayLift(grip.hit)) {
          target.lift(grip.hit)
          grip = { kind: 'carry', heldX: grip.x }
          target.carry(point.x, point.y, grip.heldX)
        } else {
          target.pan(point.x - grip.x, point.y - grip.y)
          grip = { kind: 'pan' }
        }
        break
      }
      case 'pan':
        target.pan(point.x - last.x, point.y - last.y)
        break
      case 'carry':
        target.carry(point.x, point.y, grip.heldX)
        break
      case 'edge':
        target.drawEdge(point.x)
        break
      case 'pinch': {
        const next = pinch()
        if (next.kind === 'pinch' && grip.apartPx > 0) {
          target.zoom(next.apartPx / grip.apartPx, next.x)
          target.pan(next.x - grip.x, next.y - grip.y)
        }
        grip = next
        break
      }
    }
    last = point
  }

  const up = (event: PointerEvent) => {
    stopPress()
    fingers.delete(event.pointerId)
    if (grip.kind === 'carry') target.drop()
    else if (grip.kind === 'edge') target.dropEdge()
    else if (grip.kind === 'down') target.click(grip.hit, grip.y, grip.x)
    grip = fingers.size > 0 ? { kind: 'pan' } : { kind: 'none' }
    const [rest] = fingers.values()
    if (rest) last = rest
  }

  const lose = (event: PointerEvent) => {
    stopPress()
    fingers.delete(event.pointerId)
    if (isHeld()) target.cancel()
    grip = { kind: 'none' }
  }

  const pinch = (): Grip => {
    const [a, b] = [...fingers.values()]
    if (!a || !b) return { kind: 'none' }
    return { kind: 'pinch', apartPx: Math.hypot(a.x - b.x, a.y - b.y), x: (a.x + b.x) / 2, y: (a.y + b.y) / 2 }
  }

  const wheel = (event: WheelEvent) => {
    event.preventDefault()
    const point = at(event)
    const unit = event.deltaMode === 1 ? 16 : 1
    const dx = event.deltaX * unit
    const dy = event.deltaY * unit
    if (event.ctrlKey || event.metaKey || target.inAxis(point.y))
      return target.zoom(Math.exp(-dy * (event.ctrlKey ? 0.008 : 0.002)), point.x)
    if (event.shiftKey) return target.pan(-(dx || dy), 0)
    if (Math.abs(dx) > Math.abs(dy)) return target.pan(-dx, 0)
    if (target.overflows()) target.scroll(dy)
    else target.zoom(Math.exp(-dy * 0.002), point.x)
  }

  const restore = (event: KeyboardEvent) => {
    if (event.key !== 'Escape' || !isHeld()) return
    event.stopPropagation()
    grip = { kind: 'none' }
    target.cancel()
  }

  // A passive listener, which frameworks and browsers may choose, could not keep the page from scrolling.
  onMount(() => {
    const host = target.host()
    host.addEventListener('wheel', wheel, { passive: false })
    window.addEventListener('keydown', restore, true)
    onCleanup(() => {
      stopPress()
      host.removeEventListener('wheel', wheel)
      window.removeEventListener('keydown', restore, true)
    })
  })

  return {
    onPointerDown: down,
    onPointerMove: move,
    onPointerUp: up,
    onPointerCancel: lose,
    onPointerLeave: () => grip.kind === 'none' && target.hover(undefined),
  }
}
