/** One's own passkeys and the codes on paper that stand for them. Each change asks for the password again. */
import { z } from '@hono/zod-openapi'
import type { Context } from 'hono'
import { findAccount } from '../../db/queries/accounts.ts'
import { listPasskeys, removePasskey, removeSecondStep, saveRecoveryCodes } from '../../db/queries/passkeys.ts'
import { acrossCellars } from '../../db/wall.ts'
import { busy, mayTry, tried } from '../auth.ts'
import { line } from '../fields.ts'
import { fitsPassword } from '../password.ts'
import { fieldProblem, problem } from '../problem.ts'
import { askRegister, codeHash, keepPasskey, newRecoveryCodes } from '../second.ts'
import { moment } from '../wire.ts'
import { type AppEnv, answers, describe, routes, takes } from './route.ts'

const passkeyWire = z
  .object({ id: z.string(), name: z.string(), createdAt: moment, usedAt: moment.optional() })
  .openapi('Passkey')

const current = z.string().min(1).max(1000).openapi({ description: 'Your password, once more' })
const again = z
  .strictObject({ current })
  .openapi('PasswordAgain', { example: { current: 'a long sentence of my own' } })
const base64url = z
  .string()
  .min(1)
  .max(16_000)
  .regex(/^[A-Za-z0-9_-]+$/, 'must be base64url')

const newPasskey = z
  .strictObject({
    name: line(60).openapi({ description: 'What to call it', example: 'Phone' }),
    response: z
      .strictObject({
        id: base64url,
        rawId: base64url,
        type: z.literal('public-key'),
        authenticatorAttachment: z.enum(['cross-platform', 'platform']).optional(),
        clientExtensionResults: z.object({}),
        response: z.strictObject({
          clientDataJSON: base64url,
          attestationObject: base64url,
          authenticatorData: base64url.optional(),
          transports: z.array(z.string().max(20)).max(10).optional(),
          publicKeyAlgorithm: z.number().int().min(-100_000).max(100_000).optional(),
          publicKey: base64url.optional(),
        }),
      })
      .openapi({ description: 'What navigator.credentials.create gave' }),
  })
  .openapi('NewPasskey', {
    example: {
      name: 'Phone',
      response: {
        id: 'AAAA',
        rawId: 'AAAA',
        type: 'public-key',
        clientExtensionResults: {},
        response: { clientDataJSON: 'AAAA', attestationObject: 'AAAA' },
      },
    },
  })

const list = z.object({ passkeys: z.array(passkeyWire) })

export const passkeys = routes()
  .openapi(
    describe({
      method: 'get',
      path: '/api/me/passkeys',
      operationId: 'listPasskeys',
      tags: ['People'],
      summary: 'Your passkeys: with one, a password alone opens nothing',
      responses: { 200: answers(list, 'By age') },
    }),
    async (c) => c.json(await shown(c), 200),
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/me/passkeys/options',
      operationId: 'askForPasskey',
      tags: ['People'],
      summary: 'Begin a new passkey: what the browser hands to the device',
      request: { body: takes(again) },
      responses: {
        200: answers(z.looseObject({ challenge: z.string() }), 'What navigator.credentials.create takes'),
      },
    }),
    async (c) => {
      const accountId = await proven(c, c.req.valid('json').current)
      return c.json({ ...(await acrossCellars(() => askRegister(c, accountId))) }, 200)
    },
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/me/passkeys',
      operationId: 'addPasskey',
      tags: ['People'],
      summary: 'Keep a new passkey, within five minutes of beginning it',
      request: { body: takes(newPasskey) },
      responses: { 201: answers(list, 'Kept') },
    }),
    async (c) => {
      const { name, response } = c.req.valid('json')
      const { accountId } = c.var.who
      if (accountId === undefined) throw passwordFirst()
      const { authenticatorAttachment: held, ...rest } = response
      const given = { ...rest, clientExtensionResults: {}, ...(held ? { authenticatorAttachment: held } : {}) }
      await acrossCellars(() => keepPasskey(c, accountId, name, given as Parameters<typeof keepPasskey>[3]))
      return c.json(await shown(c), 201)
    },
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/me/passkeys/{id}/remove',
      operationId: 'removePasskey',
      tags: ['People'],
      summary: 'Take a passkey away. With the last one the recovery codes go too',
      request: {
        params: z.object({
          id: z
            .string()
            .max(1400)
            .regex(/^[A-Za-z0-9_-]+$/, 'must be base64url'),
        }),
        body: takes(again),
      },
      responses: { 200: answers(list, 'As it is now') },
    }),
    async (c) => {
      const accountId = await proven(c, c.req.valid('json').current)
      const { db } = c.var
      await acrossCellars(() =>
        db.transaction(async (tx) => {
          if (!(await removePasskey(tx, accountId, c.req.valid('param').id))) {
            throw problem(404, 'unknown-passkey', 'There is no such passkey')
          }
          if ((await listPasskeys(tx, accountId)).length === 0) await removeSecondStep(tx, accountId)
        }),
      )
      return c.json(await shown(c), 200)
    },
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/me/recovery-codes',
      operationId: 'makeRecoveryCodes',
      tags: ['People'],
      summary: 'New codes on paper, each good once in place of a passkey. Those before are worth nothing',
      request: { body: takes(again) },
      responses: { 201: answers(z.object({ codes: z.array(z.string()) }), 'Shown once') },
    }),
    async (c) => {
      const accountId = await proven(c, c.req.valid('json').current)
      const { db } = c.var
      const codes = newRecoveryCodes()
      await acrossCellars(async () => {
        if ((await listPasskeys(db, accountId)).length === 0) {
          throw problem(409, 'passkey-first', 'Codes stand for a passkey: add one first')
        }
        await db.transaction((tx) => saveRecoveryCodes(tx, accountId, codes.map(codeHash), c.var.now()))
      })
      return c.json({ codes: [...codes] }, 201)
    },
  )

const passwordFirst = () => problem(409, 'password-first', 'Set a password first: a passkey stands behind it')

/** Whoever asks is who they say: the password once more, under the same limits as signing in. */
function proven(c: Context<AppEnv>, password: string): Promise<string> {
  const { who, db } = c.var
  const { accountId } = who
  return acrossCellars(async () => {
    const account = accountId === undefined ? undefined : await findAccount(db, accountId)
    if (!account?.passwordHash) throw passwordFirst()
    mayTry(c, account.name)
    const fits = await fitsPassword(account.passwordHash, password)
    if (!fits.ok) throw busy()
    tried(c, account.name, fits.value)
    if (!fits.value) throw fieldProblem('#/current', 'is not your password')
    return account.id
  })
}

async function shown(c: Context<AppEnv>) {
  const { accountId } = c.var.who
  const found = accountId === undefined ? [] : await acrossCellars(() => listPasskeys(c.var.db, accountId))
  return {
    passkeys: found.map((k) => ({
      id: k.id,
      name: k.name,
      createdAt: k.createdAt.toString(),
      ...(k.usedAt ? { usedAt: k.usedAt.toString() } : {}),
    })),
  }
}
