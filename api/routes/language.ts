import { z } from '@hono/zod-openapi'
import { findPerson, savePersonLanguage } from '../../db/queries/people.ts'
import { appendEntry } from '../../db/queries/record.ts'
import { LANGUAGES } from '../protocol/facts.ts'
import { personEntry } from '../record/person.ts'
import { describe, routes, takes } from './route.ts'

const body = z.strictObject({ language: z.enum(LANGUAGES) }).openapi('LanguageChange', { example: { language: 'es' } })

export const language = routes().openapi(
  describe({
    method: 'put',
    path: '/api/me/language',
    operationId: 'setLanguage',
    tags: ['People'],
    summary: 'The language you read the floor in, on any phone',
    request: { body: takes(body) },
    responses: { 204: { description: 'Set' } },
  }),
  async (c) => {
    const { db, who } = c.var
    await db.transaction(async (tx) => {
      await savePersonLanguage(tx, who.cellarId, who.personId, c.req.valid('json').language)
      const person = await findPerson(tx, who.cellarId, who.personId)
      if (person) await appendEntry(tx, who.cellarId, personEntry(person, who.personId, c.var.now()))
    })
    return c.body(null, 204)
  },
)
