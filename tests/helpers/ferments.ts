/**
 * Invented ferments whose true course is known, made by models that are not the forecast's own, and read as a cellar reads:
 * twice a day, 0.3 Brix and 0.5 C of noise. Used to see whether the forecast's band is honest.
 */
export interface InventedFerment {
  readonly brixMeasured: number
  readonly yanMeasured: number
  readonly tempMeasured: readonly { readonly hour: number; readonly tempC: number }[]
  readonly readings: readonly { readonly hour: number; readonly sugarGPerL: number }[]
  readonly dryH: number
  readonly sugarTrueAt: (hour: number) => number
}

export type FermentModel = 'other-constants' | 'levenspiel' | 'credible-region'
export const FERMENT_MODELS = ['other-constants', 'levenspiel', 'credible-region'] as const

/** mulberry32: small, seeded, good enough for noise. */
export function chance(seed: number): () => number {
  let state = seed >>> 0
  return () => {
    state = (state + 0x6d2b79f5) >>> 0
    let t = state
    t = Math.imul(t ^ (t >>> 15), t | 1)
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61)
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296
  }
}

/** 0.3 Brix of a hydrometer is about 3.2 g/L of sugar. */
const SUGAR_NOISE_G_PER_L = 3.2
const TEMP_NOISE_C = 0.5
const STEP_H = 0.25

export function inventFerment(model: FermentModel, seed: number): InventedFerment {
  const next = chance(seed)
  const uniform = (low: number, high: number) => low + (high - low) * next()
  const normal = () => Math.sqrt(-2 * Math.log(1 - next())) * Math.cos(2 * Math.PI * next())
  const logNormal = (centre: number, sd: number) => centre * Math.exp(sd * normal())

  for (;;) {
    const sugar0 = uniform(180, 250)
    const yan = uniform(120, 300)
    const tempC = uniform(12, 19)
    const drift = uniform(-0.5, 2.5)
    const tempAt = (hour: number) => tempC + drift * Math.min(1, hour / 240)
    const law = lawOf(model, { sugar0, yan, logNormal, normal })
    const course = run(law, sugar0, tempAt)
    const at = course.findIndex((s) => s <= 2)
    if (at < 0 || at * STEP_H > 60 * 24 || at * STEP_H < 100) continue
    const sugarTrueAt = (hour: number) => course[Math.min(course.length - 1, Math.round(hour / STEP_H))] as number
    const hours = Array.from({ length: 120 }, (_, k) => 12 * (k + 1)).filter((h) => h < at * STEP_H)
    return {
      brixMeasured: sugar0 / 10.2 + 0.3 * normal(),
      yanMeasured: yan * (1 + 0.1 * normal()),
      tempMeasured: [0, ...hours, hours.length * 12 + 240].map((hour) => ({
        hour,
        tempC: tempAt(hour) + TEMP_NOISE_C * normal(),
      })),
      readings: hours.map((hour) => ({ hour, sugarGPerL: sugarTrueAt(hour) + SUGAR_NOISE_G_PER_L * normal() })),
      dryH: at * STEP_H,
      sugarTrueAt,
    }
  }
}

/** Cells, active cells, nitrogen, sugar -> their change an hour. */
type Law = { readonly start: readonly number[]; readonly change: (y: readonly number[], tempC: number) => number[] }

interface Draw {
  readonly sugar0: number
  readonly yan: number
  readonly logNormal: (centre: number, sd: number) => number
  readonly normal: () => number
}

function lawOf(model: FermentModel, d: Draw): Law {
  const pace = d.logNormal(0.57, 0.35)
  switch (model) {
    case 'other-constants':
      return nitrogenLaw(d, {
        // Set of constants in public code, without temperature; Q10 of 2.2 added: exp(0.079 (T - 20)).
        mu: (t) => pace * 0.16 * Math.exp(0.079 * (t - 20)),
        beta: (t) => pace * 0.3 * Math.exp(0.079 * (t - 20)),
        kill: d.logNormal(1e-4, 0.4) * pace,
        halfN: 0.01,
        halfS: 10,
        cellsPerN: d.logNormal(31, 0.15),
        ethanolPerS: 0.47,
        cells0: d.logNormal(0.15, 0.4),
      })
    case 'levenspiel':
      return ethanolLaw(d, pace)
    case 'credible-region':
      // Coleman's form, its parameters drawn from their 95 % regions.
      return nitrogenLaw(d, {
        mu: (t) => pace * Math.exp(-3.92 + 0.0782 * t),
        beta: (t) => pace * Math.exp(-2.3 + 0.0771 * t),
        kill: pace * d.logNormal(4e-5, 0.4),
        halfN: 0.00883,
        halfS: 10.3,
        cellsPerN: Math.exp(3.5 + 0.1 * d.normal() - (0.00361 + 0.00036 * d.normal()) * d.yan),
        ethanolPerS: 0.55,
        cells0: d.logNormal(0.25, 0.4),
      })
  }
}

interface NitrogenConstants {
  readonly mu: (tempC: number) => number
  readonly beta: (tempC: number) => number
  readonly kill: number
  readonly halfN: number
  readonly halfS: number
  readonly cellsPerN: number
  readonly ethanolPerS: number
  readonly cells0: number
}

const nitrogenLaw = (d: Draw, k: NitrogenConstants): Law => ({
  start: [k.cells0, k.cells0, d.yan / 1000, d.sugar0],
  change: (y, tempC) => {
    const [, active = 0, nitrogen = 0, sugar = 0] = y
    const grow = ((k.mu(tempC) * Math.max(0, nitrogen)) / (k.halfN + Math.max(0, nitrogen))) * active
    const lost = k.kill * k.ethanolPerS * (d.sugar0 - sugar) * active
    const eaten = ((k.beta(tempC) * Math.max(0, sugar)) / (k.halfS + Math.max(0, sugar))) * active
    return [grow, grow - lost, -grow / k.cellsPerN, -eaten / k.ethanolPerS]
  },
})

/** Another family: logistic growth, rates falling with ethanol as (1 - E/Em)^0.41. Levenspiel 1980, Biotechnol. Bioeng. 22:1671. */
function ethanolLaw(d: Draw, pace: number): Law {
  const cellsMax = d.logNormal(2.2 * (d.yan / 200) ** 0.5, 0.2)
  const cells0 = d.logNormal(0.15, 0.4)
  const power = d.logNormal(0.41, 0.2)
  const ethanolMax = 0.47 * d.sugar0 * (1.15 + 0.15 * Math.abs(d.normal()))
  return {
    start: [cells0, cells0, 0, d.sugar0],
    change: (y, tempC) => {
      const [cells = 0, , , sugar = 0] = y
      const warm = Math.exp(0.075 * (tempC - 20)) * pace
      const ethanol = 0.47 * (d.sugar0 - sugar)
      const held = Math.max(0, 1 - ethanol / ethanolMax) ** power
      const grow = 0.13 * warm * cells * (1 - cells / cellsMax) * held
      const eaten = (1.45 * warm * held * Math.max(0, sugar) * cells) / (8 + Math.max(0, sugar))
      return [grow, grow, 0, -eaten]
    },
  }
}

/** Classic fixed-step Runge-Kutta; slow and plain on purpose. */
function run(law: Law, sugar0: number, tempAt: (hour: number) => number): number[] {
  let y = [...law.start]
  const course = [sugar0]
  for (let hour = 0; hour < 70 * 24; hour += STEP_H) {
    const add = (k: readonly number[], f: number) => y.map((v, i) => v + f * (k[i] as number))
    const k1 = law.change(y, tempAt(hour))
    const k2 = law.change(add(k1, STEP_H / 2), tempAt(hour + STEP_H / 2))
    const k3 = law.change(add(k2, STEP_H / 2), tempAt(hour + STEP_H / 2))
    const k4 = law.change(add(k3, STEP_H), tempAt(hour + STEP_H))
    y = y.map(
      (v, i) =>
        v + (STEP_H / 6) * ((k1[i] as number) + 2 * (k2[i] as number) + 2 * (k3[i] as number) + (k4[i] as number)),
    )
    const sugar = y[3] as number
    course.push(sugar)
    if (sugar < 1) break
  }
  return course
}
