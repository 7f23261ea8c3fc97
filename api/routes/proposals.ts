/** "The plan would change": moves of announced work, to agree to, in part if wished, or to refuse. */
import { z } from '@hono/zod-openapi'
import type { Context } from 'hono'
import { lockPlan } from '../../db/queries/locks.ts'
import { changeProposal, findOpenProposal, listProposals, type StoredProposal } from '../../db/queries/proposals.ts'
import { findTasks } from '../../db/queries/tasks.ts'
import { id, moment, prose } from '../fields.ts'
import { fieldProblem, problem } from '../problem.ts'
import { pin } from '../trials/adopt.ts'
import { anewShape, planAnew } from './anew.ts'
import { type AppEnv, answers, describe, routes, takes } from './route.ts'

const moveWire = z.object({
  key: z.string(),
  lotCode: z.string(),
  name: z.string(),
  fromStartAt: moment,
  toStartAt: moment,
  toGrain: z.enum(['day', 'minute']).optional().openapi({ description: 'day: of its new start only the day is meant' }),
  fromPeople: z.array(z.string()),
  toPeople: z.array(z.string()),
  why: z.string(),
  applied: z.boolean().openapi({ description: 'It could not wait: the plan has it already' }),
})

const proposalWire = z
  .object({
    id: z.string(),
    madeAt: moment,
    because: z.string().openapi({ description: 'What set it off' }),
    moves: z.array(moveWire),
    state: z.enum(['open', 'accepted', 'partly', 'refused', 'passed']).openapi({
      description: 'passed: a newer plan no longer asks, or all of it could not wait',
    }),
    decidedAt: moment.optional(),
    decidedBy: z.string().optional(),
    refused: z.array(z.string()).openapi({ description: 'Tasks that stay where they were, as pins' }),
  })
  .openapi('Proposal')

const decideBody = z
  .strictObject({
    accept: z
      .array(z.string().max(90))
      .max(1000)
      .openapi({ description: 'Keys of the tasks that may move; those left out are pinned where they stand' }),
    reason: prose(500).default(''),
  })
  .openapi('DecideProposal', { example: { accept: ['L01/press/1'], reason: 'the crew is told already' } })

export const proposals = routes()
  .openapi(
    describe({
      method: 'get',
      path: '/api/proposals',
      operationId: 'listProposals',
      tags: ['Plan'],
      summary: 'What the plan would change of work already announced, and what was decided before',
      responses: {
        200: answers(
          z.object({ open: proposalWire.nullable(), earlier: z.array(proposalWire) }),
          'At most one is open; the others newest first, at most 50',
        ),
      },
    }),
    async (c) => {
      const all = (await listProposals(c.var.db, c.var.who.cellarId)).map(toWire)
      const open = all.find((p) => p.state === 'open') ?? null
      return c.json({ open, earlier: all.filter((p) => p.state !== 'open') }, 200)
    },
  )
  .openapi(
    describe({
      method: 'post',
      path: '/api/proposals/{id}/decide',
      operationId: 'decideProposal',
      tags: ['Plan'],
      summary:
        'Agree to all, to some or to none of the moves. What is refused is pinned where it stands, with who and why',
      request: {
        params: z.object({ id: id.openapi({ example: '0192f7c0-0000-7000-8000-000000000001' }) }),
        body: takes(decideBody),
      },
      responses: { 200: answers(z.object({ proposal: proposalWire, ...anewShape }), 'Decided') },
    }),
    async (c) => {
      const { accept, reason } = c.req.valid('json')
      const decided = await decide(c, c.req.valid('param').id, accept, reason)
      const anew = await planAnew(c, c.var.who.cellarId, {
        words: decided.because,
        asks: true,
        agreed: new Set(accept),
      })
      return c.json({ proposal: toWire(decided), ...anew }, 200)
    },
  )

/** Stores the decision and the pins of what was refused, under the cellar's lock: a plan made meanwhile asks anew. */
function decide(
  c: Context<AppEnv>,
  proposalId: string,
  accept: readonly string[],
  reason: string,
): Promise<StoredProposal> {
  const { who } = c.var
  const by = { personId: who.personId, at: c.var.now() }
  return c.var.db.transaction(async (tx) => {
    await lockPlan(tx, who.cellarId)
    const open = await findOpenProposal(tx, who.cellarId)
    if (open?.id !== proposalId) {
      const known = (await listProposals(tx, who.cellarId)).some((p) => p.id === proposalId)
      if (!known) throw problem(404, 'not-found', 'There is no such proposal')
      throw problem(409, 'not-open', 'This proposal is not open any more', {
        detail: 'Somebody decided it, or a newer plan asks for something else.',
        ...(open ? { current: toWire(open) } : {}),
      })
    }
    const waiting = open.moves.filter((m) => !m.applied).map((m) => m.key)
    const unknown = accept.findIndex((key) => !waiting.includes(key))
    if (unknown >= 0) throw fieldProblem(`#/accept/${unknown}`, 'is not among the moves that wait')
    const refused = waiting.filter((key) => !accept.includes(key))
    const words = [`stays where it was: ${open.because}`, reason].filter(Boolean).join('. ')
    for (const task of await findTasks(tx, who.cellarId, refused)) {
      await pin(tx, who.cellarId, task.key, task.startAt.toString(), task.people, by, words)
    }
    const state = refused.length === 0 ? 'accepted' : accept.length === 0 ? 'refused' : 'partly'
    const change = { state, refused, decidedAt: by.at, decidedBy: who.personId } as const
    await changeProposal(tx, who.cellarId, open.id, change)
    return { ...open, ...change, refused: [...refused] }
  })
}

const toWire = (p: StoredProposal) => ({
  id: p.id,
  madeAt: p.madeAt.toString(),
  because: p.because,
  moves: p.moves.map((m) => ({ ...m, fromPeople: [...m.fromPeople], toPeople: [...m.toPeople] })),
  state: p.state,
  ...(p.decidedAt ? { decidedAt: p.decidedAt.toString() } : {}),
  ...(p.decidedBy ? { decidedBy: p.decidedBy } : {}),
  refused: [...p.refused],
})
