import { notNegative, positive, within } from './guard.ts'

export interface BarrelPlan {
  readonly barrels: number
  /** Litres that no longer fill a barrel; they go into kegs. */
  readonly restL: number
  readonly kegs: number
  readonly newBarrels: number
}

/**
 * Full barrels that a volume gives, and the kegs for what is left. A barrel is never left part full, so the rest goes to
 * kegs. Counts are whole; the litres add up: barrels x size + rest = volume.
 */
export function barrelsFor(volumeL: number, barrelL = 225, newShare = 0, kegL = 50): BarrelPlan {
  notNegative('volumeL', volumeL, 'L')
  within('barrelL', barrelL, 20, 10_000, 'L')
  within('newShare', newShare, 0, 1)
  positive('kegL', kegL, 'L')
  const barrels = Math.floor(volumeL / barrelL + 1e-9)
  const restL = Math.max(0, volumeL - barrels * barrelL)
  return { barrels, restL, kegs: Math.ceil(restL / kegL - 1e-9), newBarrels: Math.round(barrels * newShare) }
}

/** Barrels that must stand ready to take a whole volume, the last one part full or topped from elsewhere. */
export function barrelsToHold(volumeL: number, barrelL = 225): number {
  notNegative('volumeL', volumeL, 'L')
  within('barrelL', barrelL, 20, 10_000, 'L')
  return Math.ceil(volumeL / barrelL - 1e-9)
}
