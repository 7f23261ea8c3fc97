import { z } from '@hono/zod-openapi'
import { endSessions, removeSessions } from '../../db/queries/access.ts'
import { findAccount, savePasswordHash } from '../../db/queries/accounts.ts'
import { findCellar } from '../../db/queries/cellars.ts'
import { listPasskeys } from '../../db/queries/passkeys.ts'
import { acrossCellars } from '../../db/wall.ts'
import { busy, clientOf, mayTry, setSession, startSession, tried } from '../auth.ts'
import {
  fitsPassword,
  hashPassword,
  PASSWORD_MAX,
  PASSWORD_MIN,
  PASSWORD_MIN_WITH_SECOND,
  weakPassword,
} from '../password.ts'
import { fieldProblem } from '../problem.ts'
import { describe, routes, takes } from './route.ts'

const body = z
  .strictObject({
    current: z.string().max(1000).optional().openapi({ description: 'Needed where there is a password already' }),
    next: z
      .string()
      .max(1000)
      .openapi({
        description: `${PASSWORD_MIN} to ${PASSWORD_MAX} signs; ${PASSWORD_MIN_WITH_SECOND} where a passkey stands behind it`,
      }),
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
    const { accountId, cellarId, personId } = who
    const nowAt = c.var.now()
    await acrossCellars(async () => {
      const account = accountId === undefined ? undefined : await findAccount(db, accountId)
      if (account?.passwordHash) {
        mayTry(c, account.name)
        const fits = await fitsPassword(account.passwordHash, current ?? '')
        if (!fits.ok) throw busy()
        tried(c, account.name, fits.value)
        if (!fits.value) throw fieldProblem('#/current', 'is not your password')
      }
      const second = account !== undefined && (await listPasskeys(db, account.id)).length > 0
      const known = [who.name, account?.name, (await findCellar(db, cellarId))?.name].filter((n) => n !== undefined)
      const weak = weakPassword(next, known, second ? PASSWORD_MIN_WITH_SECOND : PASSWORD_MIN)
      if (weak) throw fieldProblem('#/next', weak)
      const hashed = await hashPassword(next)
      if (!hashed.ok) throw busy()
      await db.transaction(async (tx) => {
        await savePasswordHash(tx, cellarId, personId, hashed.value, nowAt)
        if (account) await endSessions(tx, { accountId: account.id })
        else await removeSessions(tx, cellarId, personId)
      })
      // Whoever sets the first password came by link; from now on the password has been shown too.
      const proof = who.proof === 'passkey' ? 'passkey' : 'password'
      const started = await startSession(db, { cellarId, id: personId }, clientOf(c), nowAt, proof)
      await setSession(c, started.secret)
    })
    return c.body(null, 204)
  },
)
