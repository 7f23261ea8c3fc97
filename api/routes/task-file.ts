/** One task as a file that a calendar takes in once: it does not follow later changes, the feed does. */
import { z } from '@hono/zod-openapi'
import { findCellar } from '../../db/queries/cellars.ts'
import { listPeople } from '../../db/queries/people.ts'
import { findTask } from '../../db/queries/tasks.ts'
import { feedTaskOf } from '../feed/task.ts'
import { FEED_LANGUAGES } from '../feed/types.ts'
import { writeFeed } from '../feed/write.ts'
import { problem } from '../problem.ts'
import { tasksToWire } from './read.ts'
import { describe, routes } from './route.ts'
import { keyOf, taskParam } from './tasks.ts'

export const taskFile = routes().openapi(
  describe({
    method: 'get',
    path: '/api/tasks/{lot}/{step}/{count}/calendar',
    operationId: 'downloadTask',
    tags: ['Feeds'],
    summary: 'One task as an .ics file',
    request: { params: taskParam },
    responses: { 200: { description: 'The file', content: { 'text/calendar': { schema: z.string() } } } },
  }),
  async (c) => {
    const { db, who, baseUrl } = c.var
    const key = keyOf(c.req.valid('param'))
    const nowAt = c.var.now()
    const stored = await findTask(db, who.cellarId, key)
    const cellar = await findCellar(db, who.cellarId)
    if (!stored || !cellar) throw problem(404, 'unknown-task', `There is no task ${key}`)
    const [task] = await tasksToWire(db, who.cellarId, [stored], nowAt)
    const crew = await listPeople(db, who.cellarId)
    const people = new Map(crew.map((p) => [p.id, p.name]))
    const language = crew.find((p) => p.id === who.personId)?.language
    const body = writeFeed(
      [
        {
          ...feedTaskOf(task!, who.cellarId, new Map(), { people, actions: new Map(), units: cellar.units }),
          next: [],
        },
      ],
      {
        name: `${task!.lotCode} ${task!.name}`,
        cellarName: cellar.name,
        zone: cellar.zone,
        language: FEED_LANGUAGES.find((l) => l === language) ?? 'en',
        showDoses: true,
        baseUrl,
        alarmMin: { [task!.family]: 30 },
        fromAt: stored.startAt.subtract({ hours: 24 }),
        toAt: stored.endAt.add({ hours: 24 * 365 }),
      },
      nowAt,
    )
    return c.body(body, 200, {
      'content-type': 'text/calendar; charset=utf-8',
      'content-disposition': `attachment; filename="${key.replaceAll('/', '-')}.ics"`,
    })
  },
)
