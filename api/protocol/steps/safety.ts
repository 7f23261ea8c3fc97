import type { Step } from '../types.ts'
import { CO2, caution, SPACE } from './caution.ts'
import { clock, soft, source, step } from './make.ts'

/** Air and entry. Never moved for the plan's sake. */
export const SAFETY: readonly Step[] = [
  step({
    id: 'gas-check',
    nr: 87,
    stage: 'safety',
    family: 'protect',
    names: { en: 'Check CO2 meters and fans', fr: 'Contrôler le CO2', es: 'Controlar CO2' },
    trigger: 'fermenting rooms',
    labourH: () => 0.1,
    elapsedH: () => 0.1,
    prefers: ['rounds'],
    startWindows: [clock('05:00', '08:00')],
    onHolidays: true,
    repeats: 'before first entry each day and each night visit',
    records: ['co2-air'],
    writeDown: ['CO2 ppm', 'fan on'],
    alarms: ['CO2 > 5000 ppm: stay short and ventilate', 'CO2 > 30000 ppm: leave now'],
    caution: caution(CO2, 'Nobody enters alone below 19 % oxygen.'),
    materials: ['meter'],
    basis: source(['S60'], ['alarms']),
  }),
  step({
    id: 'permit-entry',
    nr: 88,
    stage: 'safety',
    family: 'protect',
    names: { en: 'Confined-space entry', fr: 'Entrée en espace confiné', es: 'Entrada a espacio confinado' },
    trigger: 'someone must enter a tank or press drum',
    after: [soft('clean-tank', 'start', 0, 24, '', 'vessel')],
    labourH: () => 1,
    elapsedH: () => 1,
    crew: 2,
    skills: ['confined-space'],
    startWindows: [clock('07:00', '17:00')],
    onHolidays: true,
    records: ['co2-air'],
    writeDown: ['permit number', 'O2 %', 'CO2 ppm', 'attendant'],
    alarms: ['no attendant', 'O2 < 19.5 %'],
    caution: caution(SPACE),
    materials: ['4-gas meter', 'harness'],
    basis: source(['S60'], ['caution']),
  }),
]
