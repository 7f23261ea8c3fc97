import { z } from '@hono/zod-openapi'
import { findPasswordHash, removeSessions } from '../../db/queries/access.ts'
import { savePasswordHash } from '../../db/queries/accounts.ts'
import { clientOf, mayTry, setSession, startSession, tried } from '../auth.ts'
import { fitsPassword, hashPassword, PASSWORD_MAX, PASSWORD_MIN, weakPassword } from '../password.ts'
import { fieldProblem, problem } from '../problem.ts'
import { describe, routes, takes } from './route.ts'

const body = z
  .strictObject({
    current: z.string().max(1000).optional().openapi({ description: 'Needed where there is a password already' }),
    next: z
      .string()
      .max(1000)
      .openapi({ description: `${PASSWORD_MIN} to ${PASSWORD_MAX} signs` }),
  })
  .openapi('PasswordChange', { example: { next: 'four plain words joined' } })

export const password = routes().openapi(
  describe({
    method: 'put',
    path: '/api/me/password',
    operationId: 'setPassword',
    tags: ['People'],
    summary: 'Set or change your own password. Your other sessions end',
    request: { body: takes(body) },
    responses: { 204: { description: 'Set' } },
  }),
  async (c) => {
    const { current, next } = c.req.valid('json')
    const { db, who } = c.var
    const nowAt = c.var.now()
    const stored = await findPasswordHash(db, who.cellarId, who.personId)
    if (stored !== undefined) {
      const key = `${who.name.toLowerCase()} ${c.var.address}`
      mayTry(c, key)
      const fits = await fitsPassword(stored, current ?? '')
      if (!fits.ok) throw busy()
      tried(c, key, fits.value)
      if (!fits.value) throw fieldProblem('#/current', 'is not your password')
    }
    const weak = weakPassword(next, who.name)
    if (weak) throw fieldProblem('#/next', weak)
    const hashed = await hashPassword(next)
    if (!hashed.ok) throw busy()
    await db.transaction(async (tx) => {
      await savePasswordHash(tx, who.cellarId, who.personId, hashed.value, nowAt)
      await removeSessions(tx, who.cellarId, who.personId)
    })
    const person = { cellarId: who.cellarId, id: who.personId, name: who.name, role: who.role, language: who.language }
    setSession(c, (await startSession(db, person, clientOf(c), nowAt)).secret)
    return c.body(null, 204)
  },
)

const busy = () => problem(429, 'too-many', 'Many people are signing in. Try again', { retryAfterS: 2 })
