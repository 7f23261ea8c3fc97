import { z } from '@hono/zod-openapi'
import {
  cellYield,
  ethanolRateMax,
  growthMax,
  K_N,
  K_S,
  killRate,
  NITROGEN_CAP_MG_PER_L,
  Y_ES,
} from '../cellar/coleman.ts'
import { fermentCurve, hourAtSugar, sugarAt } from '../cellar/ferment-curve.ts'
import { calculation, figure, num } from './calculation.ts'
import { COLEMAN, ferment, yan } from './ferment-fields.ts'

const rates = calculation({
  name: 'ferment-rates',
  title: 'Rates of the fermentation model',
  topic: 'fermentation',
  source: COLEMAN,
  status: 'derived',
  input: z.object({ tempC: num('Temperature', 'C', 0, 45, 15), yanMgPerL: yan }),
  output: z.object({
    growthMaxPerH: figure('Highest growth', '1/h'),
    ethanolMaxGPerGPerH: figure('Highest ethanol rate', 'g/g/h'),
    killLPerGPerH: figure('Loss of active cells', 'L/g/h'),
    cellYieldGPerG: figure('Cells from nitrogen', 'g/g'),
    halfNitrogenGPerL: figure('Nitrogen at half growth', 'g/L'),
    halfSugarGPerL: figure('Sugar at half rate', 'g/L'),
    ethanolYieldGPerG: figure('Ethanol from sugar inside the model', 'g/g'),
    nitrogenCapMgPerL: figure('Nitrogen above which no more counts', 'mg/L'),
  }),
  run: ({ tempC, yanMgPerL }) => ({
    result: {
      growthMaxPerH: growthMax(tempC),
      ethanolMaxGPerGPerH: ethanolRateMax(tempC),
      killLPerGPerH: killRate(tempC),
      cellYieldGPerG: cellYield(yanMgPerL),
      halfNitrogenGPerL: K_N,
      halfSugarGPerL: K_S,
      ethanolYieldGPerG: Y_ES,
      nitrogenCapMgPerL: NITROGEN_CAP_MG_PER_L,
    },
    steps: [
      `mu = exp(-3.92 + 0.0782 x ${tempC}) = ${growthMax(tempC).toPrecision(4)}`,
      `beta = exp(-2.30 + 0.0771 x ${tempC}) = ${ethanolRateMax(tempC).toPrecision(4)}`,
      `k'd = exp(-9.81 - 0.108 T + 0.00478 T^2), T at least 11 = ${killRate(tempC).toPrecision(4)}`,
      `Y = exp(3.50 - 0.00361 x ${yanMgPerL}) = ${cellYield(yanMgPerL).toPrecision(4)}`,
    ],
    warnings: tempC < 11 || tempC > 35 ? ['Outside the fitted 11-35 C.'] : [],
  }),
})

const curve = calculation({
  name: 'ferment-curve',
  title: 'The fermentation model by itself',
  topic: 'fermentation',
  source: COLEMAN,
  status: 'derived',
  input: z.object({
    ...ferment,
    yeastGPerL: num('Cells at the start: 0.25 is 25 g/hL dry yeast', 'g/L', 0.001, 5, 0.25).default(0.25),
    pace: num('Every time is divided by it; 1 is the laboratory flask', '', 0.05, 5, 1).default(1),
    nitrogenCap: z
      .boolean()
      .default(false)
      .meta({ description: 'Count nitrogen above 277 mg/L as 277', example: false }),
    drySugarGPerL: num('Dry means', 'g/L', 0.5, 20, 2).default(2),
  }),
  output: z.object({
    dryDays: figure('Days to dry; absent when it stops above', 'd').optional(),
    dryH: figure('Hours to dry; absent when it stops above', 'h').optional(),
    restGPerL: figure('Left after 100 days', 'g/L'),
    fastestGPerLPerDay: figure('Fastest fall', 'g/L/d'),
    sugarByDayGPerL: z.array(z.number()).meta({ description: 'Sugar at the end of each day, from day 0, g/L' }),
  }),
  run: (i) => {
    const built = fermentCurve(
      {
        sugarGPerL: i.sugarGPerL,
        yanMgPerL: i.yanMgPerL,
        yeastGPerL: i.yeastGPerL,
        tempPlan: i.tempPlan ?? i.tempC,
        startH: 0,
        pace: i.pace,
        tail: 1,
        yanCapMgPerL: i.nitrogenCap ? NITROGEN_CAP_MG_PER_L : Number.POSITIVE_INFINITY,
      },
      2400,
    )
    const dryH = hourAtSugar(built, i.drySugarGPerL) ?? undefined
    const days = Math.min(100, Math.ceil((dryH ?? 2400) / 24) + 1)
    const byDay = Array.from({ length: days + 1 }, (_, d) => sugarAt(built, 24 * d))
    const hours = Array.from({ length: Math.ceil((days * 24) / 0.25) }, (_, k) => k * 0.25)
    const fastest = 24 * Math.max(...hours.map((h) => (sugarAt(built, h) - sugarAt(built, h + 0.25)) / 0.25))
    return {
      result: {
        dryH,
        dryDays: dryH === undefined ? undefined : dryH / 24,
        restGPerL: sugarAt(built, 2400),
        fastestGPerLPerDay: fastest,
        sugarByDayGPerL: byDay,
      },
      steps: ['Five equations of the paper, adaptive Runge-Kutta 3(2), error below 0.3 %'],
      warnings: [
        'A laboratory flask: cellar tanks run at about 0.57 of this pace, and the day is sure within a factor of two only.',
      ],
    }
  },
})

export const modelCalculations = [rates, curve]
