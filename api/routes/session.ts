import { z } from '@hono/zod-openapi'
import { clearSession, fromLink, fromPassword, setSession, whoWith } from '../auth.ts'
import { id, line } from '../fields.ts'
import { signedIn } from '../me.ts'
import { ROLES } from '../protocol/facts.ts'
import { takeSecond } from '../second.ts'
import { answers, describe, routes, takes } from './route.ts'

export const meWire = z
  .object({
    /** Nobody: sign in. */
    person: z
      .object({
        id: z.string(),
        name: z.string(),
        role: z.enum(ROLES),
        language: z.string(),
        post: z.string(),
        version: z.number().int(),
        hasPassword: z.boolean(),
        signInName: z.string().optional(),
        proof: z.enum(['link', 'password', 'passkey']),
        passkeys: z.number().int(),
        recoveryCodes: z.number().int(),
      })
      .nullable(),
    cellar: z.object({ id: z.string(), name: z.string() }).nullable(),
    /** All that this person works in; empty for those who came by link, which is good for one cellar. */
    cellars: z.array(z.object({ id: z.string(), name: z.string(), role: z.enum(ROLES) })),
    /** No cellar yet: the link of the first start makes one. */
    setup: z.boolean(),
    demo: z.boolean(),
    /** A shared phone that was laid down: whoever takes it says who they are. */
    locked: z.boolean(),
    /** The password was right; a passkey or a code has to follow. */
    second: z
      .object({
        passkey: z
          .looseObject({ challenge: z.string() })
          .nullable()
          .openapi({ description: 'What navigator.credentials.get takes; null where this address has no name' }),
      })
      .optional(),
    /** A phone that several people share, and the others on it. */
    device: z.object({ mine: z.boolean(), seats: z.array(z.object({ id: z.string(), name: z.string() })) }).nullable(),
  })
  .openapi('Me')

const signIn = z
  .strictObject({
    link: z.string().min(1).max(100).optional().openapi({ description: 'The secret of a one-time link' }),
    join: z.boolean().optional().openapi({
      description: 'With a link, while signed in by password: the same name and password from now on for both cellars',
    }),
    name: line(80).optional(),
    password: z.string().min(1).max(1000).optional(),
    cellar: id.optional().openapi({ description: 'With name and password: where to, for those who work in several' }),
  })
  .refine((b) => (b.link === undefined) !== (b.name === undefined || b.password === undefined), {
    message: 'needs either link, or name and password',
  })
  .openapi('SignIn', { example: { name: 'Alex', password: 'a long sentence of my own' } })

const base64url = z
  .string()
  .min(1)
  .max(8000)
  .regex(/^[A-Za-z0-9_-]+$/, 'must be base64url')

const secondBody = z
  .strictObject({
    code: z.string().min(1).max(100).optional().openapi({ description: 'A recovery code' }),
    assertion: z
      .strictObject({
        id: base64url,
        rawId: base64url,
        type: z.literal('public-key'),
        authenticatorAttachment: z.enum(['cross-platform', 'platform']).optional(),
        clientExtensionResults: z.object({}),
        response: z.strictObject({
          clientDataJSON: base64url,
          authenticatorData: base64url,
          signature: base64url,
          userHandle: base64url.optional(),
        }),
      })
      .optional()
      .openapi({ description: 'What navigator.credentials.get gave' }),
  })
  .refine((b) => (b.code === undefined) !== (b.assertion === undefined), { message: 'needs either assertion or code' })
  .openapi('SecondStep', { example: { code: 'ABCD-EFGH-JKLM-NPQR-STUV-WXYZ' } })

export const session = routes()
  .openapi(
    describe({
      method: 'get',
      path: '/api/me',
      operationId: 'whoAmI',
      tags: ['People'],
      summary: 'Who is signed in here, if anybody',
      responses: { 200: answers(meWire, 'Who, and in which cellar') },
    }),
    async (c) => c.json(await signedIn(c), 200),
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/session',
      operationId: 'signIn',
      tags: ['People'],
      summary: 'Sign in with a one-time link, or with name and password',
      request: { body: takes(signIn) },
      responses: {
        200: answers(meWire, 'Signed in, the session is in a cookie; or `second`: a passkey has to follow'),
      },
    }),
    async (c) => {
      const { link, join, name, password, cellar } = c.req.valid('json')
      const started =
        link === undefined
          ? await fromPassword(c, name ?? '', password ?? '', cellar)
          : await fromLink(c, link, join ?? false)
      if (started.kind === 'setup') return c.json({ ...(await signedIn(c, undefined)), setup: true }, 200)
      if (started.kind === 'second') return c.json(await signedIn(c, undefined), 200)
      await setSession(c, started.secret)
      return c.json(await signedIn(c, await whoWith(c, started.secret)), 200)
    },
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/session/second',
      operationId: 'takeSecondStep',
      tags: ['People'],
      summary: 'The second step of signing in: a passkey, or a recovery code in its place',
      request: { body: takes(secondBody) },
      responses: { 200: answers(meWire, 'Signed in; the session is in a cookie') },
    }),
    async (c) => {
      const { assertion, code } = c.req.valid('json')
      const started = await takeSecond(
        c,
        assertion === undefined ? { code: code ?? '' } : { assertion: { ...assertion, clientExtensionResults: {} } },
      )
      await setSession(c, started.secret)
      return c.json(await signedIn(c, await whoWith(c, started.secret)), 200)
    },
  )
  .openapi(
    describe({
      method: 'delete',
      path: '/api/session',
      operationId: 'signOut',
      tags: ['People'],
      summary: 'Sign out',
      request: {
        query: z.object({
          clear: z.enum(['true', 'false']).default('false').openapi({
            description: 'Nothing waits on this device: the browser is told to remove all that was kept there',
          }),
        }),
      },
      responses: { 204: { description: 'Signed out' } },
    }),
    async (c) => {
      await clearSession(c)
      // Cookies stay: a shared phone is known by one. W3C Clear Site Data, 2017: each kind in quotes.
      if (c.req.valid('query').clear === 'true') c.header('clear-site-data', '"storage"')
      return c.body(null, 204)
    },
  )
