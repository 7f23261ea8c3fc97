import { expect, it } from 'vitest'
import { keeperOf } from '../api/keeper.ts'

/** What is there when a plan of so many tasks is made; undefined: nothing was kept. */
const planOf = (keeping: ReturnType<typeof keeperOf>, cellarId: string, tasks: number) =>
  keeping(cellarId, (kept) => {
    const found = kept.tasks
    kept.tasks = tasks
    return found
  })

it('keeps what is lent as long as there is room, and forgets the longest unused first', () => {
  const keeping = keeperOf(100)
  expect(planOf(keeping, 'a', 40)).toBeUndefined()
  expect(planOf(keeping, 'b', 40)).toBeUndefined()
  expect(planOf(keeping, 'a', 40)).toBe(40)
  expect(planOf(keeping, 'c', 50)).toBeUndefined()
  expect(planOf(keeping, 'a', 40)).toBe(40)
  expect(planOf(keeping, 'b', 40)).toBeUndefined()
})

it('keeps nothing of a plan that is too large by itself, and the others stay', () => {
  const keeping = keeperOf(100)
  planOf(keeping, 'small', 60)
  expect(planOf(keeping, 'large', 101)).toBeUndefined()
  expect(planOf(keeping, 'large', 101)).toBeUndefined()
  expect(planOf(keeping, 'small', 60)).toBe(60)
})

it('a plan that failed leaves what was ready', () => {
  const keeping = keeperOf(100)
  planOf(keeping, 'a', 40)
  expect(() =>
    keeping('a', () => {
      throw new Error('cannot be planned')
    }),
  ).toThrow('cannot be planned')
  expect(planOf(keeping, 'a', 40)).toBe(40)
})
