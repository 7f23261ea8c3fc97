import { type OpenAPIHono, z } from '@hono/zod-openapi'
import { type AppEnv, answers, describe } from './route.ts'

const INFO = {
  openapi: '3.1.0',
  info: {
    title: 'Leesway',
    version: '1',
    description:
      'A cellar’s lots, choices, plan and records. Every no is a problem document (RFC 9457): branch on `type`, read `title`. ' +
      'Moments are UTC; a field ending in Local takes a time on the cellar’s clock. Rows that change carry `version`: send it back, or If-Match. ' +
      'Requests that change something must come from the same site: browsers say so, others send Origin or Sec-Fetch-Site: same-origin. ' +
      '`opId` makes a repeated request count once.',
  },
  servers: [{ url: '/' }],
  tags: [
    'Cellar',
    'People',
    'Vessels',
    'Machines',
    'Lots',
    'Protocols',
    'Plan',
    'Tasks',
    'Readings',
    'Bench sheet',
    'Feeds',
    'Import and export',
    'Server',
  ].map((name) => ({ name })),
}

const openapiRoute = describe({
  method: 'get',
  path: '/api/openapi.json',
  operationId: 'describeApi',
  tags: ['Server'],
  summary: 'This description, made from the schemas that check the requests',
  responses: { 200: answers(z.looseObject({ openapi: z.string() }), 'OpenAPI 3.1') },
})

/** The document of an app, with the description of itself. Made once: routes do not change while the server runs. */
export function serveOpenApi(app: OpenAPIHono<AppEnv>): void {
  app.openAPIRegistry.registerComponent('securitySchemes', 'session', {
    type: 'apiKey',
    in: 'cookie',
    name: 'session',
    description: 'Set by POST /api/session; named __Host-session over https',
  })
  let document: { openapi: string } | undefined
  app.openapi(openapiRoute, (c) => {
    document ??= app.getOpenAPI31Document(INFO) as { openapi: string }
    return c.json(document as { openapi: string; [key: string]: unknown }, 200)
  })
}
