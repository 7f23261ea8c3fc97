import { z } from '@hono/zod-openapi'
import type { Context } from 'hono'
import { loadPlanFacts } from '../../db/queries/facts.ts'
import { findPlan, listPhases } from '../../db/queries/plans.ts'
import { listTasks } from '../../db/queries/tasks.ts'
import { asked, QUESTIONS } from '../answers.ts'
import { conflictAway } from '../conflict-away.ts'
import { knownPlanOf } from '../known-plan.ts'
import { farDayWords } from '../moments.ts'
import { fieldProblem, problem } from '../problem.ts'
import type { AskGround, AskPlan } from '../protocol/answers/ask.ts'
import type { Facts } from '../protocol/facts.ts'
import { withoutInherited } from '../protocol/inherited.ts'
import { hoursGained } from '../protocol/trial/stay.ts'
import type { CellarPlan } from '../protocol/types.ts'
import { Temporal } from '../time.ts'
import { trialChange } from '../trials/bodies.ts'
import { withoutUndone } from '../undone.ts'
import { askedBy } from './anew.ts'
import { type AppEnv, answers as answering, describe, routes } from './route.ts'

const answerWire = z
  .object({
    question: z.string(),
    verdict: z.enum(['yes', 'no', 'with-changes']).optional(),
    sentences: z.array(z.string()),
    table: z
      .object({
        head: z.array(z.string()),
        rows: z.array(
          z.object({
            cells: z.array(z.string()),
            taskKey: z.string().optional().openapi({ description: 'The task this line is about' }),
          }),
        ),
      })
      .optional(),
    tried: z
      .array(trialChange)
      .optional()
      .openapi({ description: 'Changes tried to find it: send them to /api/trials to keep them' }),
  })
  .openapi('Answer')

const questionWire = z
  .object({
    id: z.string(),
    words: z.string(),
    needs: z.array(z.string()).openapi({ description: 'Query fields; those with a ? may be left out' }),
  })
  .openapi('Question')

export const answers = routes()
  .openapi(
    describe({
      method: 'get',
      path: '/api/answers',
      operationId: 'listQuestions',
      tags: ['Answers'],
      summary: 'The questions that can be asked of the plan, and what each needs to know',
      responses: { 200: answering(z.object({ questions: z.array(questionWire) }), 'In plain words') },
    }),
    (c) => c.json({ questions: QUESTIONS.map(({ id, words, needs }) => ({ id, words, needs: [...needs] })) }, 200),
  )
  .openapi(
    describe({
      method: 'get',
      path: '/api/answers/{question}',
      operationId: 'ask',
      tags: ['Answers'],
      summary: 'One answer in sentences with numbers, and a table whose lines lead to tasks. Nothing is stored',
      request: {
        params: z.object({ question: z.string().max(40).openapi({ example: 'possible' }) }),
        query: asked,
      },
      responses: { 200: answering(answerWire, 'The answer') },
    }),
    async (c) => {
      const { question: name } = c.req.valid('param')
      const question = QUESTIONS.find((q) => q.id === name)
      if (!question) {
        throw problem(404, 'unknown-question', `Nobody here answers ${name}`, {
          detail: `Ask one of: ${QUESTIONS.map((q) => q.id).join(', ')}.`,
        })
      }
      const query = c.req.valid('query')
      const far = query.on && farDayWords(query.on, c.var.now())
      if (far) throw fieldProblem('#query/on', far)
      const answer = await question.answer(await groundOf(c), query)
      return c.json(JSON.parse(JSON.stringify({ question: name, ...answer })) as z.output<typeof answerWire>, 200)
    },
  )

async function groundOf(c: Context<AppEnv>): Promise<AskGround> {
  const { db, who } = c.var
  const nowAt = c.var.now()
  const facts = await loadPlanFacts(db, who.cellarId)
  if (!facts) throw problem(404, 'unknown-cellar', 'There is no such cellar')
  const stored = await listTasks(db, who.cellarId)
  const real = await findPlan(db, who.cellarId)
  const asItStands = knownPlanOf(stored, facts)
  const { planner, ...by } = askedBy(c)
  return {
    facts,
    nowAt,
    plan: {
      tasks: stored.map((t) => ({
        ...t,
        ...t.rest,
        grain: t.rest.grain ?? 'minute',
        latestAt: Temporal.Instant.from(t.rest.latestAt),
      })),
      phases: await listPhases(db, who.cellarId),
      broken: real.broken,
      forecasts: real.forecasts,
      dryAt: new Map(
        real.forecasts.flatMap((f) => (f.dryAt ? [[f.lotId, Temporal.Instant.from(f.dryAt.likelyAt)] as const] : [])),
      ),
    },
    planOf: async (of: Facts, how) => {
      const gained = hoursGained(facts, of)
      const known = gained.length > 0 ? knownPlanOf(stored, facts, [], gained) : asItStands
      // What the cellar's last plan left ready is not given away for a lot by itself.
      const ordered =
        how === 'alone'
          ? await planner.plan(`${who.cellarId} alone`, { facts: of, nowAt }, by)
          : await planner.plan(who.cellarId, { facts: of, nowAt, ...known }, by)
      return askPlan(withoutInherited(ordered.plan, of))
    },
    causes: async () => {
      const { causes = [] } = await planner.plan(who.cellarId, { facts, nowAt, ...asItStands, causes: true }, by)
      return new Map(causes.map((held) => [held.key, held]))
    },
    conflict: (taskKey) => conflictAway(withoutUndone(facts), { nowAt, ...asItStands }, { taskKey, signal: by.signal }),
  }
}

const askPlan = (plan: CellarPlan): AskPlan => ({
  ...plan,
  dryAt: new Map(plan.forecasts.flatMap((f) => (f.dryAt ? [[f.lotId, f.dryAt.likelyAt] as const] : []))),
})
