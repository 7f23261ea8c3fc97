import { z } from '@hono/zod-openapi'
import { whoWith } from '../auth.ts'
import { lockHere, stayHere, switchTo } from '../device.ts'
import { id } from '../fields.ts'
import { signedIn } from '../me.ts'
import { answers, describe, routes, takes } from './route.ts'
import { meWire } from './session.ts'

const pin = z
  .string()
  .regex(/^\d{4,8}$/, 'must be a number of 4 to 8 digits')
  .openapi({ description: 'A number for this phone alone', example: '4711' })

export const device = routes()
  .openapi(
    describe({
      method: 'post',
      path: '/api/device',
      operationId: 'stayOnPhone',
      tags: ['People'],
      summary: 'Stay on this phone while others use it too, behind a number of your own',
      request: { body: takes(z.strictObject({ pin }).openapi('PhoneNumber', { example: { pin: '4711' } })) },
      responses: { 200: answers(meWire, 'Kept on this phone') },
    }),
    async (c) => {
      await stayHere(c, c.req.valid('json').pin)
      return c.json(await signedIn(c), 200)
    },
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/device/lock',
      operationId: 'lockPhone',
      tags: ['People'],
      summary: 'Lay a shared phone down: whoever takes it says who they are',
      responses: { 204: { description: 'Locked' } },
    }),
    async (c) => {
      await lockHere(c)
      return c.body(null, 204)
    },
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/device/switch',
      operationId: 'switchPerson',
      tags: ['People'],
      summary: 'Take a shared phone in hand, as one of those who stay on it',
      request: {
        body: takes(
          z.strictObject({ seat: id, pin }).openapi('PhoneSwitch', {
            example: { seat: '0b0f3c52-7d4f-4f0e-9d5b-2f9f1c1f7a10', pin: '4711' },
          }),
        ),
      },
      responses: { 200: answers(meWire, 'Signed in') },
    }),
    async (c) => {
      const { seat, pin: number } = c.req.valid('json')
      const secret = await switchTo(c, seat, number)
      return c.json(await signedIn(c, await whoWith(c, secret)), 200)
    },
  )
