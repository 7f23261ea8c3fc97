import { describe, expect, it } from 'vitest'
import { fieldProblem, problem, problemOf } from '../../api/problem.ts'
import { ofDatabase } from '../../db/room.ts'

/** As drizzle hands a driver's error on: the code stands at the cause. */
const wrapped = (code: string) =>
  new Error('Failed query: select * from secret_table', { cause: Object.assign(new Error('inside'), { code }) })

describe('what goes wrong', () => {
  it.each([
    ['23505', 409, 'already-there'],
    ['23503', 409, 'still-used'],
    ['23514', 422, 'outside-limits'],
    ['22P05', 422, 'not-text'],
    ['40001', 503, 'busy'],
    ['40P01', 503, 'busy'],
    ['53100', 503, 'storage-full'],
    ['ENOSPC', 503, 'storage-full'],
    ['57P01', 503, 'database-away'],
    ['08006', 503, 'database-away'],
    ['ECONNREFUSED', 503, 'database-away'],
  ])('in the database with %s is told as %i %s', (code, status, type) => {
    const told = problemOf(ofDatabase(wrapped(code)))
    expect(told).toMatchObject({ status, type })
    expect(JSON.stringify(told)).not.toMatch(/secret_table|inside/)
    if (status === 503) expect(told.retryAfterS).toBeGreaterThan(0)
  })

  it.each(['ENOSPC', 'ECONNRESET', 'EPIPE', 'EIO'])('elsewhere with %s says nothing of the database', (code) => {
    expect(problemOf(wrapped(code))).toMatchObject({ status: 500, type: 'broken' })
  })

  it('for no known reason is told as ours, without a word of the inside', () => {
    for (const thrown of [new TypeError('x is undefined at secret.ts'), wrapped('XX000'), 'text', null, undefined]) {
      const told = problemOf(thrown)
      expect(told).toMatchObject({ status: 500, type: 'broken' })
      expect(JSON.stringify(told)).not.toMatch(/secret|undefined/)
    }
  })

  it('keeps what a route says as it says it', () => {
    expect(problemOf(problem(409, 'stale', 'Old', { current: { version: 2 } }))).toEqual({
      type: 'stale',
      title: 'Old',
      status: 409,
      current: { version: 2 },
    })
    expect(problemOf(fieldProblem('#/a', 'must be b')).errors).toEqual([{ pointer: '#/a', detail: 'must be b' }])
  })
})
