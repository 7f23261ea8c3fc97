import { notNegative, positive, within } from './guard.ts'

/** Litres of sweet reserve that bring a wine to a sweetness: V (target - now) / (reserve - target). Conservation of sugar. */
export function sweetReserveL(volumeL: number, sugarNow: number, sugarTarget: number, reserveSugar: number): number {
  positive('volumeL', volumeL, 'L')
  notNegative('sugarNow', sugarNow, 'g/L')
  within('sugarTarget', sugarTarget, sugarNow, 300, 'g/L')
  if (reserveSugar <= sugarTarget)
    throw new RangeError(`reserveSugar is ${reserveSugar}, expected more than the target of ${sugarTarget} g/L`)
  return (volumeL * (sugarTarget - sugarNow)) / (reserveSugar - sugarTarget)
}

/** A value of a blend that adds by volume: sugar, acid, alcohol, nitrogen, SO2. Not pH. */
export function blendOf(parts: readonly { readonly volumeL: number; readonly value: number }[]): number {
  const volumeL = parts.reduce((total, p) => total + notNegative('volumeL', p.volumeL, 'L'), 0)
  positive('volume of all parts', volumeL, 'L')
  return parts.reduce((total, p) => total + p.volumeL * p.value, 0) / volumeL
}

/** Litres of another wine that may still be added before a share falls under a label limit. */
export function foreignRoomL(volumeL: number, shareNow: number, shareLimit: number): number {
  notNegative('volumeL', volumeL, 'L')
  within('shareNow', shareNow, 0, 1)
  within('shareLimit', shareLimit, 0.01, 1)
  return Math.max(0, (volumeL * shareNow) / shareLimit - volumeL)
}
