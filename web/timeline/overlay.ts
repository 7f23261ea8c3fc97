/** Drawn over the chart while a hand or an eye rests on a task: the ring, the allowed window, the ghost. The chart itself is not redrawn. */
import type { Palette } from '../palette.ts'
import type { Frame } from './frame.ts'
import { type Hit, placeOfTask } from './hit.ts'
import { flagsOf, lookOf, lookWith } from './look.ts'
import { CONFLICT, type Model } from './model.ts'
import type { Move } from './move.ts'
import { drawPeg, pegName } from './peg.ts'
import { xOf } from './scale.ts'
import { endOf, type Stretch } from './stretch.ts'
import type { Surface } from './surface.ts'

export interface OverlayInput {
  readonly frame: Frame
  readonly model: Model
  readonly palette: Palette
  readonly nowMs: number
  readonly hover?: Hit
  readonly selectedIx?: number
  readonly move?: Move
  /** Moves of other tasks that the server foresees: task and new start. */
  readonly trial?: readonly { readonly ix: number; readonly startMs: number }[]
  /** Where the pointer is while it drags over another row. */
  readonly targetY?: number
  /** A band's end in the hand. */
  readonly stretch?: Stretch
}

export function paintOverlay(to: Surface, input: OverlayInput): void {
  const { frame, palette } = input
  to.clipRect(frame.scale.leftPx, frame.bodyTop, frame.scale.widthPx, frame.geometry.heightPx - frame.bodyTop, () => {
    if (input.hover && !input.move) ring(to, input.hover.x, input.hover.y, palette.ink, 1)
    if (input.selectedIx !== undefined && !input.move) {
      const at = placeOfTask(frame, input.selectedIx)
      if (at) ring(to, at.x, at.y, palette.ink, 2)
    }
    for (const other of input.trial ?? []) paintTrial(to, input, other.ix, other.startMs)
    if (input.stretch) paintStretch(to, input, input.stretch)
    if (input.move && input.move.ix < input.model.startMs.length) paintMove(to, input, input.move)
  })
}

function ring(to: Surface, x: number, y: number, colour: string, width: number): void {
  to.path('M-12 0A12 12 0 1 1 12 0A12 12 0 1 1 -12 0Z', { x, y }, { stroke: colour, width })
}

function paintTrial(to: Surface, { frame, model, palette, nowMs }: OverlayInput, ix: number, startMs: number): void {
  const at = placeOfTask(frame, ix)
  if (!at) return
  const x = xOf(frame.scale, startMs)
  to.segments([at.x, at.y, x, at.y], palette.ink, 1.5, [2, 3])
  const look = lookOf(model, ix, nowMs)
  to.stamp(`trial ${pegName(look, 12, palette)}`, 16, x, at.y, (stamp) => drawPeg(stamp, look, 12, palette))
}

function paintMove(to: Surface, { frame, model, palette, nowMs, targetY }: OverlayInput, move: Move): void {
  const home = placeOfTask(frame, move.ix)
  const row = home?.row ?? frame.rows[0]
  if (!row) return
  const { scale } = frame
  const top = row.place.y + 1
  const h = row.place.h - 2
  const right = scale.leftPx + scale.widthPx
  const x1 = Math.max(scale.leftPx, Math.min(right, xOf(scale, move.window.earliest.ms)))
  const x2 = Math.max(scale.leftPx, Math.min(right, xOf(scale, move.window.latest.ms)))
  // What is not allowed fades; the window stays as it is, between two brackets.
  const veil = `${palette.ground.startsWith('#') ? palette.ground : '#FFFFFF'}CC`
  to.rect(scale.leftPx, top, x1 - scale.leftPx, h, veil)
  to.rect(x2, top, right - x2, h, veil)
  to.segments([x1, top, x1, top + h, x1, top, x1 + 5, top, x1, top + h, x1 + 5, top + h], palette.ink, 1.5)
  to.segments([x2, top, x2, top + h, x2 - 5, top, x2, top, x2 - 5, top + h, x2, top + h], palette.ink, 1.5)
  const x = xOf(scale, move.startMs)
  const y = targetY ?? home?.y ?? row.place.y + row.place.shape.pegY
  const bad = move.verdict.level === 'no'
  to.segments(
    [x, frame.bodyTop, x, frame.geometry.heightPx],
    bad ? palette.late : palette.ink,
    1,
    bad ? [4, 3] : undefined,
  )
  const wPx = ((model.endMs[move.ix] as number) - (model.startMs[move.ix] as number)) * scale.pxPerMs
  if (wPx > 10) to.rect(x, y + 9, wPx, 3, bad ? palette.late : palette.ink)
  const own = lookOf(model, move.ix, nowMs)
  const look = lookWith(own, bad ? flagsOf(own) | CONFLICT : flagsOf(own) & ~CONFLICT)
  to.stamp(`move ${pegName(look, 15, palette)}`, 20, x, y, (stamp) => drawPeg(stamp, look, 15, palette))
}

/** What may be chosen stands between two brackets; the band's new end is a line with the grip on it. */
function paintStretch(to: Surface, { frame, palette }: OverlayInput, { length, endMs, verdict }: Stretch): void {
  const bands = frame.rows.flatMap((r) => r.marks.bands)
  const band = bands.find((b) => b.phase.key === length.phase.key)
  if (!band) return
  const { scale } = frame
  const colour = verdict.level === 'no' ? palette.late : palette.ink
  const x = xOf(scale, endMs)
  const [least, most] = [xOf(scale, endOf(length, length.least)), xOf(scale, endOf(length, length.most))]
  const top = band.y - 5
  const foot = band.y + band.h + 5
  to.segments([least, top, least, foot, least, top, least + 5, top, least, foot, least + 5, foot], palette.ink, 1.5)
  to.segments([most, top, most, foot, most - 5, top, most, top, most - 5, foot, most, foot], palette.ink, 1.5)
  to.segments([band.x, band.y, x, band.y, band.x, band.y + band.h, x, band.y + band.h], colour, 1.5, [4, 3])
  to.rect(x - 1.5, top, 3, foot - top, colour)
  to.segments([x, frame.bodyTop, x, frame.geometry.heightPx], colour, 1, verdict.level === 'no' ? [4, 3] : undefined)
}
