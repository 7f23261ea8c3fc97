import { z } from '@hono/zod-openapi'
import { barrelsFor, barrelsToHold } from '../cellar/barrels.ts'
import { evaporationPctPerYear, toppingIntervalDays, toppingPlan } from '../cellar/topping.ts'
import { litresPerTonne } from '../cellar/units.ts'
import {
  juiceVolume,
  LOSS_SHARE,
  type LossStep,
  PROGRAM_FACTOR,
  vesselNeedL,
  volumeThrough,
  YIELD_L_PER_T,
} from '../cellar/volume.ts'
import {
  barrelOxygenMgPerLPerYear,
  barrelSurfaceM2,
  barrelVolumeL,
  ORIGINS,
  oakIndex,
  relativeSurface,
  scaledOxygen,
  surfaceCm2PerL,
  TOASTS,
} from '../cellar/wood.ts'
import { calculation, figure, fixed, num, pick, volumeL } from './calculation.ts'

const keysOf = <T extends string>(record: Readonly<Record<T, unknown>>) => Object.keys(record) as [T, ...T[]]
const barrelL = num('Size of the barrel or cask', 'L', 5, 20_000, 225)

const juice = calculation({
  name: 'juice-volume',
  title: 'Litres from tonnes',
  topic: 'volumes',
  source: 'Common practice; AJEV 34 (1983): 542-772 L/t; Champagne press rule for sparkling',
  status: 'common-practice',
  input: z.object({
    tonnes: num('Fruit', 't', 0, 500, 6),
    kind: pick('What goes into the press', keysOf(YIELD_L_PER_T), 'whole-bunch'),
    program: pick('Press program', keysOf(PROGRAM_FACTOR), 'standard').default('standard'),
  }),
  output: z.object({
    lowL: figure('At least', 'L'),
    likelyL: figure('Likely', 'L'),
    highL: figure('At most', 'L'),
    freeRunL: figure('Free run', 'L'),
    pressL: figure('Press juice', 'L'),
    vesselL: figure('Vessel at 90 % fill', 'L'),
  }),
  run: (i) => {
    const found = juiceVolume(i.tonnes, i.kind, i.program)
    const { low, likely, high } = found.volumeL
    return {
      result: {
        lowL: low,
        likelyL: likely,
        highL: high,
        freeRunL: found.freeRunL,
        pressL: found.pressL,
        vesselL: vesselNeedL(likely),
      },
      steps: [
        `${i.tonnes} t x ${YIELD_L_PER_T[i.kind].likely} L/t x ${PROGRAM_FACTOR[i.program]} = ${fixed(likely, 0)} L`,
      ],
    }
  },
})

const yieldUnits = calculation({
  name: 'yield-units',
  title: 'US gallons a short ton to litres a tonne',
  topic: 'volumes',
  source: 'NIST SP 811: exact factors',
  status: 'derived',
  input: z.object({ gallonsPerShortTon: num('Yield', 'US gal/short ton', 1, 300, 160) }),
  output: z.object({ litresPerTonne: figure('Yield', 'L/t') }),
  run: (i) => ({
    result: { litresPerTonne: litresPerTonne(i.gallonsPerShortTon) },
    steps: [`${i.gallonsPerShortTon} x 3.785412 / 0.9071847 = ${fixed(litresPerTonne(i.gallonsPerShortTon))} L/t`],
  }),
})

const losses = calculation({
  name: 'losses',
  title: 'Litres left after each step',
  topic: 'volumes',
  source: 'Common practice; fining lees 5-10 % (Waters et al.)',
  status: 'common-practice',
  input: z.object({
    volumeL,
    steps: z
      .array(pick('Step', keysOf(LOSS_SHARE), 'settle'))
      .min(1)
      .max(20)
      .meta({ example: ['settle', 'rack-gross', 'bentonite', 'filter'] }),
  }),
  output: z.object({
    outL: figure('Left at the end', 'L'),
    lossL: figure('Lost in all', 'L'),
    rows: z.array(z.object({ step: z.string(), inL: z.number(), lossL: z.number(), outL: z.number() })),
  }),
  run: (i) => {
    const rows = volumeThrough(i.volumeL, i.steps as readonly LossStep[])
    const outL = rows.at(-1)?.outL ?? i.volumeL
    return {
      result: { outL, lossL: i.volumeL - outL, rows: [...rows] },
      steps: rows.map((r) => `${r.step}: ${fixed(r.inL, 0)} - ${fixed(r.lossL, 0)} = ${fixed(r.outL, 0)} L`),
    }
  },
})

const barrels = calculation({
  name: 'barrels',
  title: 'Barrels and left-over kegs',
  topic: 'volumes',
  source: 'Counting; no barrel is left part full',
  status: 'derived',
  caution: 'A full 225 L barrel weighs about 270 kg: move it by machine or rails.',
  input: z.object({
    volumeL,
    barrelL: num('Size of a barrel', 'L', 20, 10_000, 228).default(225),
    newShare: num('Share of new wood', '0 to 1', 0, 1, 0.3).default(0),
    kegL: num('Size of a keg', 'L', 5, 200, 50).default(50),
  }),
  output: z.object({
    barrels: figure('Full barrels', ''),
    newBarrels: figure('Of them new', ''),
    restL: figure('Rest', 'L'),
    kegs: figure('Kegs for the rest', ''),
    barrelsToHold: figure('Barrels if the last may be topped from elsewhere', ''),
  }),
  run: (i) => {
    const plan = barrelsFor(i.volumeL, i.barrelL, i.newShare, i.kegL)
    return {
      result: { ...plan, barrelsToHold: barrelsToHold(i.volumeL, i.barrelL) },
      steps: [`${i.volumeL} L = ${plan.barrels} x ${i.barrelL} L + ${fixed(plan.restL, 0)} L`],
    }
  },
})

const geometry = calculation({
  name: 'barrel-geometry',
  title: 'Volume of a barrel from its measures',
  topic: 'volumes',
  source: 'Parabolic staves: pi L / 15 (2 D^2 + D d + 0.75 d^2), exact for the shape',
  status: 'derived',
  input: z.object({
    lengthM: num('Inside length', 'm', 0.2, 5, 0.85),
    bilgeM: num('Inside bilge diameter', 'm', 0.1, 5, 0.62),
    headM: num('Inside head diameter', 'm', 0.1, 5, 0.52),
  }),
  output: z.object({ volumeL: figure('Volume', 'L') }),
  run: (i) => ({
    result: { volumeL: barrelVolumeL(i.lengthM, i.bilgeM, i.headM) },
    steps: [`${fixed(barrelVolumeL(i.lengthM, i.bilgeM, i.headM))} L`],
  }),
})

const wood = calculation({
  name: 'oak',
  title: 'Wood: surface, relative extraction, oxygen',
  topic: 'volumes',
  source:
    'Geometry of similar shapes (3 %); half left per fill: common practice; oxygen: Junqua 2021, IVES, Vivas & Glories 1997 disagree',
  status: 'common-practice',
  input: z.object({
    barrelL,
    fills: num('Wines it has held before', '', 0, 50, 0),
    toast: pick('Toast', TOASTS, 'medium').default('medium'),
    origin: pick('Oak', ORIGINS, 'european').default('european'),
    oxygenAt225MgPerLPerYear: num('Own oxygen figure for 225 L', 'mg/L/year', 0, 60, 11.4).optional(),
  }),
  output: z.object({
    surfaceM2: figure('Inner surface', 'm2'),
    surfaceCm2PerL: figure('Surface a litre', 'cm2/L'),
    relativeSurface: figure('Against 225 L', ''),
    extraction: figure('Relative extraction', 'first fill of 225 L = 1'),
    aroma: figure('Relative aroma', 'first fill of 225 L = 1'),
    toasty: figure('Relative toast', 'medium = 1'),
    oxygenMgPerLPerYear: figure('Oxygen', 'mg/L/year'),
  }),
  run: (i) => {
    const index = oakIndex(i.barrelL, i.fills, i.toast, i.origin)
    const own = i.oxygenAt225MgPerLPerYear
    return {
      result: {
        surfaceM2: barrelSurfaceM2(i.barrelL),
        surfaceCm2PerL: surfaceCm2PerL(i.barrelL),
        relativeSurface: relativeSurface(i.barrelL),
        extraction: index.extraction,
        aroma: index.aroma,
        toasty: index.toasty,
        oxygenMgPerLPerYear:
          own === undefined ? barrelOxygenMgPerLPerYear(i.barrelL, i.fills) : scaledOxygen(own, i.barrelL),
      },
      steps: [
        `5.336 x (${i.barrelL} / 1000)^(2/3) = ${fixed(barrelSurfaceM2(i.barrelL), 2)} m2`,
        `(225 / ${i.barrelL})^(1/3) = ${fixed(relativeSurface(i.barrelL), 3)}; half for each of ${i.fills} fills`,
      ],
      warnings: [`Index ${index.words}; not a concentration. Oak pieces let in no slow oxygen.`],
    }
  },
})

const topping = calculation({
  name: 'topping',
  title: 'Evaporation and topping',
  topic: 'volumes',
  source: 'Cave 3.8 L, surface warehouse 15.1 L a year for 227 L; between them a model of ours',
  status: 'common-practice',
  input: z.object({
    barrels: num('Barrels', '', 0, 10_000, 14),
    barrelL: barrelL.default(225),
    humidityPct: num('Humidity', '%', 30, 100, 75),
    tempC: num('Room temperature', 'C', 2, 30, 14),
    intervalDays: num('Days between toppings', 'd', 1, 120, 21),
    weekSinceFill: num('Weeks since filling', 'weeks', 0, 200, 8).default(8),
  }),
  output: z.object({
    lossPctPerYear: figure('Loss', '%/year'),
    lossLPerBarrelYear: figure('Loss of a barrel', 'L/year'),
    perBarrelL: figure('To bring for a barrel', 'L'),
    totalL: figure('To bring in all', 'L'),
    advisedIntervalDays: figure('Interval advised', 'd'),
  }),
  run: (i) => {
    const plan = toppingPlan(i.barrels, i.barrelL, i.humidityPct, i.tempC, i.intervalDays)
    const pct = evaporationPctPerYear(i.humidityPct, i.tempC, i.barrelL)
    return {
      result: {
        lossPctPerYear: pct,
        lossLPerBarrelYear: (pct * i.barrelL) / 100,
        perBarrelL: plan.perBarrelL,
        totalL: plan.totalL,
        advisedIntervalDays: toppingIntervalDays(i.humidityPct, i.tempC, i.barrelL, i.weekSinceFill),
      },
      steps: [
        `${fixed(pct)} % a year at ${i.humidityPct} % humidity, ${i.tempC} C, ${i.barrelL} L`,
        `${fixed(plan.perBarrelL, 2)} L a barrel in ${i.intervalDays} days x ${i.barrels} = ${fixed(plan.totalL)} L`,
      ],
    }
  },
})

export const volumeCalculations = [juice, yieldUnits, losses, barrels, geometry, wood, topping]
