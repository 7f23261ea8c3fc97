import { z } from '@hono/zod-openapi'
import { clearSession, fromLink, fromPassword, setSession, signedIn } from '../auth.ts'
import { line } from '../fields.ts'
import { ROLES } from '../protocol/facts.ts'
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
        hasPassword: z.boolean(),
      })
      .nullable(),
    cellar: z.object({ id: z.string(), name: z.string() }).nullable(),
    /** No cellar yet: the link of the first start makes one. */
    setup: z.boolean(),
    demo: z.boolean(),
  })
  .openapi('Me')

const signIn = z
  .strictObject({
    link: z.string().min(1).max(100).optional().openapi({ description: 'The secret of a one-time link' }),
    name: line(80).optional(),
    password: z.string().min(1).max(1000).optional(),
  })
  .refine((b) => (b.link === undefined) !== (b.name === undefined || b.password === undefined), {
    message: 'needs either link, or name and password',
  })
  .openapi('SignIn', { example: { name: 'Alex', password: 'a long sentence of my own' } })

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
      responses: { 200: answers(meWire, 'Signed in; the session is in a cookie') },
    }),
    async (c) => {
      const { link, name, password } = c.req.valid('json')
      const started = link === undefined ? await fromPassword(c, name ?? '', password ?? '') : await fromLink(c, link)
      if (started.kind === 'setup') {
        return c.json({ person: null, cellar: null, setup: true, demo: c.var.demo }, 200)
      }
      setSession(c, started.secret)
      return c.json(await signedIn(c, started.who), 200)
    },
  )
  .openapi(
    describe({
      method: 'delete',
      path: '/api/session',
      operationId: 'signOut',
      tags: ['People'],
      summary: 'Sign out',
      responses: { 204: { description: 'Signed out' } },
    }),
    async (c) => {
      await clearSession(c)
      return c.body(null, 204)
    },
  )
