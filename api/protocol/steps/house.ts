import type { Step } from '../types.ts'
import { caution, LOCKOUT } from './caution.ts'
import { clock, source, step } from './make.ts'

/** Work that belongs to no lot. The whole crew means whoever is on shift. */
export const HOUSE: readonly Step[] = [
  step({
    id: 'round-morning',
    nr: 86,
    stage: 'house',
    family: 'check',
    names: { en: 'Morning round and board meeting', fr: 'Tour du matin', es: 'Ronda de mañana' },
    trigger: 'every harvest day',
    labourH: () => 0.5 * 6,
    elapsedH: () => 0.5,
    crew: 6,
    skills: ['decides'],
    startWindows: [clock('06:30', '07:30')],
    onHolidays: true,
    repeats: 'daily 06:30',
    writeDown: ['plan accepted', 'changes'],
    basis: source(['S68', 'S70'], ['trigger']),
  }),
  step({
    id: 'service',
    nr: 92,
    stage: 'house',
    family: 'protect',
    names: { en: 'Service press, pumps, chiller', fr: 'Entretien', es: 'Mantenimiento' },
    trigger: 'before harvest and weekly',
    labourH: () => 1.5,
    elapsedH: () => 2,
    repeats: 'weekly in harvest',
    writeDown: ['hours', 'fault'],
    alarms: ['chiller flow temperature > set + 2 C'],
    skippable: 'with-reason',
    skipNote: 'One week',
    interruptible: true,
    caution: caution(LOCKOUT),
    materials: ['grease', 'spares'],
  }),
]
