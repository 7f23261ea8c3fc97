import type { Person, ShiftRule } from '../protocol/facts.ts'
import type { Dates } from './dates.ts'

const ALL_WEEK = [1, 2, 3, 4, 5, 6, 7]
const without = (weekday: number) => ALL_WEEK.filter((d) => d !== weekday)
const hours = (weekdays: readonly number[], from: number, to: number) => ({
  weekdays,
  startMin: from * 60,
  endMin: to * 60,
})

/**
 * Six invented people. Their harvest shifts end on 31 May; from 1 June those who stay work Monday to Friday 07:00-16:00.
 * Skills are the roster's, and those their work shows: on the lab's day off the winemaker measures and feeds,
 * whoever runs the press doses its pan, and everybody on a day or late shift walks the rounds.
 */
export function people({ on }: Dates): readonly Person[] {
  const harvestUntilOn = on('2027-05-31')
  const summer: ShiftRule = { ...hours([1, 2, 3, 4, 5], 7, 16), fromOn: on('2027-06-01') }
  const harvest = (weekdays: readonly number[], from: number, to: number): ShiftRule => ({
    ...hours(weekdays, from, to),
    untilOn: harvestUntilOn,
  })
  return [
    {
      id: 'alex',
      name: 'Alex',
      role: 'owner',
      post: 'winemaker',
      skills: ['decides', 'confined-space', 'forklift', 'lab', 'additions', 'rounds'],
      language: 'en',
      shifts: [
        { ...hours(ALL_WEEK, 7, 17), untilOn: on('2027-04-17') },
        { ...hours(without(7), 7, 17), fromOn: on('2027-04-18'), untilOn: harvestUntilOn },
        summer,
      ],
      absences: [],
    },
    {
      id: 'sam',
      name: 'Sam',
      role: 'winemaker',
      post: 'cellar lead',
      skills: ['forklift', 'confined-space', 'pump', 'filter', 'press', 'barrels', 'additions', 'rounds'],
      language: 'en',
      shifts: [harvest(without(6), 5, 14), summer],
      absences: [],
    },
    {
      id: 'noor',
      name: 'Noor',
      role: 'lab',
      post: 'lab',
      skills: ['lab', 'additions'],
      language: 'fr',
      shifts: [harvest(without(7), 7, 16), summer],
      absences: [],
    },
    {
      id: 'kim',
      name: 'Kim',
      role: 'hand',
      post: 'press operator',
      skills: ['press', 'forklift', 'pump', 'additions', 'barrels', 'filter', 'rounds'],
      language: 'en',
      shifts: [harvest(without(1), 5, 14), summer],
      absences: [],
    },
    {
      id: 'robin',
      name: 'Robin',
      role: 'hand',
      post: 'cellar hand, seasonal',
      skills: ['pump', 'barrels', 'press', 'rounds'],
      language: 'es',
      shifts: [harvest(without(2), 7, 17)],
      untilOn: harvestUntilOn,
      absences: [],
    },
    {
      id: 'ari',
      name: 'Ari',
      role: 'hand',
      post: 'cellar hand, seasonal, late shift',
      skills: ['press', 'pump', 'rounds', 'additions'],
      language: 'es',
      shifts: [harvest(without(3), 13, 23)],
      untilOn: harvestUntilOn,
      absences: [],
    },
  ]
}
