import type { VesselChoice } from '../choices.ts'
import {
  type Body,
  barrelRoom,
  canStop,
  chosen,
  isWood,
  KINDS_FOR,
  malolacticOf,
  type Room,
  roomFor,
} from '../rooms.ts'
import type { Setting } from '../setting.ts'
import { FILL } from '../volumes.ts'
import { keyOf } from '../work.ts'
import { sum } from './settling.ts'

/** A part of a lot and the kind of vessel it ferments in. */
export interface Share {
  readonly vessel: VesselChoice
  readonly volumeL: number
  readonly label: string
  readonly skinFermentDays: number
}

export function sharesOf(
  s: Setting,
  racked: readonly { readonly volumeL: number; readonly label: string }[],
): readonly Share[] {
  const c = s.choices
  const whole = sum(racked.map((r) => r.volumeL))
  const parts = c.vesselParts
  if (parts && racked.length === 1) {
    const total = sum(parts.map((p) => p.share))
    return parts.map((p) => ({
      vessel: p.vessel,
      volumeL: (whole * p.share) / total,
      label: p.vessel,
      skinFermentDays: p.skinFermentDays ?? c.skinFermentDays,
    }))
  }
  if (racked.length === 1 && c.vessel === 'used-barrel' && c.oak === 'new' && (c.oakNewShare ?? 0) > 0) {
    const fresh = c.oakNewShare ?? 0
    const two: readonly (readonly [VesselChoice, number])[] = [
      ['new-barrel', fresh],
      ['used-barrel', 1 - fresh],
    ]
    return two
      .filter(([, share]) => share > 0)
      .map(([vessel, share]) => ({ vessel, volumeL: whole * share, label: vessel, skinFermentDays: c.skinFermentDays }))
  }
  return racked.map((r) => ({
    vessel: c.vessel,
    volumeL: r.volumeL,
    label: r.label,
    skinFermentDays: c.skinFermentDays,
  }))
}

/** Where each share ferments; wood is filled from a tank that holds the racked juice for an hour or two. */
export function fermentBodies(s: Setting, shares: readonly Share[]): readonly Body[] {
  const taken: string[] = []
  const rows: Room[] = []
  return shares.map((share, i) => {
    const hold = `${s.lot.code}/ferment${i === 0 ? '' : `-${i + 1}`}`
    const wood = isWood(share.vessel)
    const pins = s.lot.vesselPins.ferment?.filter((id) => !taken.includes(id))
    const filledBy = wood ? keyOf(s, 'fill-barrels') : keyOf(s, 'rack-juice', s.choices.vesselParts ? 1 : i + 1)
    const room = wood
      ? barrelRoom(s, { volumeL: share.volumeL, choice: share.vessel, pins, filledBy, rows })
      : roomFor(s, {
          stage: 'ferment',
          volumeL: share.volumeL,
          fill: FILL.ferment,
          kinds: KINDS_FOR[share.vessel],
          ...(share.vessel === 'jacketed-tank' && (pins ?? []).length === 0 ? { jacket: share.volumeL > 1200 } : {}),
          pins,
          filledBy,
          ...(s.choices.vesselParts ? { taken: [...taken] } : {}),
        })
    taken.push(...chosen(room))
    if (wood) rows.push(room)
    return {
      hold,
      label: share.label,
      volumeL: share.volumeL,
      room,
      since: wood
        ? { task: keyOf(s, 'fill-barrels'), edge: 'start' }
        : { task: keyOf(s, 'clean-tank', 2), edge: 'start' },
      ...malolacticOf(s, i),
    }
  })
}

export const needsMoveToStop = (bodies: readonly Body[], shares: readonly Share[]): boolean =>
  bodies.some((b) => !b.room.jacket) || shares.some((x) => !canStop(x.vessel))
