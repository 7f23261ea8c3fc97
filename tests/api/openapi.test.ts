import { beforeAll, describe, expect, it } from 'vitest'
import { ROLES } from '../../api/protocol/facts.ts'
import { type ApiDocument, exampleOf, type Schema } from '../helpers/operations.ts'
import { type Made, makeApp } from './make.ts'

interface Operation {
  readonly operationId?: string
  readonly summary?: string
  readonly tags?: readonly string[]
  readonly 'x-roles'?: readonly string[]
  readonly security?: readonly unknown[]
  readonly parameters?: readonly { readonly in: string; readonly name: string; readonly required?: boolean }[]
  readonly responses: Readonly<
    Record<string, { readonly content?: Readonly<Record<string, { readonly schema?: unknown }>> }>
  >
}
interface Document {
  readonly openapi: string
  readonly paths: Readonly<Record<string, Readonly<Record<string, Operation>>>>
  readonly components: { readonly schemas: Readonly<Record<string, unknown>>; readonly securitySchemes: object }
}

let made: Made
let doc: Document
let operations: readonly (readonly [string, string, string, Operation])[]

beforeAll(async () => {
  made = await makeApp()
  doc = (await made.as(null)<Document>('GET', '/api/openapi.json')).body as unknown as Document
  operations = Object.entries(doc.paths).flatMap(([path, item]) =>
    Object.entries(item).map(([method, op]) => [`${method.toUpperCase()} ${path}`, method, path, op] as const),
  )
})

describe('the OpenAPI document', () => {
  it('is version 3.1 and is public', () => {
    expect(doc.openapi).toMatch(/^3\.1\./)
    expect(operations.length).toBeGreaterThan(40)
  })

  it('names every route of the router, and no other', () => {
    const routed = new Set(
      made.app.routes
        .filter((r) => r.method !== 'ALL')
        .map((r) => `${r.method} ${r.path.replaceAll(/:([A-Za-z]+)/g, '{$1}')}`),
    )
    expect([...routed].sort()).toEqual(operations.map(([name]) => name).sort())
  })

  it('says for every operation who may call it', () => {
    const wrong = operations.filter(([, , , op]) => {
      const roles = op['x-roles'] ?? []
      const known = roles.every((r) => r === 'public' || ROLES.some((role) => role === r))
      return roles.length === 0 || !known || (roles.includes('public') && (op.security ?? [1]).length > 0)
    })
    expect(wrong.map(([name]) => name)).toEqual([])
  })

  it('gives every operation a problem for what it refuses', () => {
    const wrong = operations.filter(([, , , op]) => {
      const no = op.responses['4XX']?.content?.['application/problem+json']?.schema
      return JSON.stringify(no) !== '{"$ref":"#/components/schemas/Problem"}'
    })
    expect(wrong.map(([name]) => name)).toEqual([])
  })

  it('gives every operation a name of its own, a summary and a tag', () => {
    const ids = operations.map(([, , , op]) => op.operationId)
    expect(new Set(ids).size).toBe(operations.length)
    expect(
      operations.filter(([, , , op]) => !op.operationId || !op.summary || !op.tags?.length).map(([n]) => n),
    ).toEqual([])
  })

  it('declares every parameter that stands in a path', () => {
    const wrong = operations.filter(([, , path, op]) => {
      const inPath = [...path.matchAll(/\{([^}]+)\}/g)].map((m) => m[1])
      const declared = (op.parameters ?? []).filter((p) => p.in === 'path').map((p) => p.name)
      return inPath.join() !== declared.join()
    })
    expect(wrong.map(([name]) => name)).toEqual([])
  })

  it('leaves no reference open', () => {
    const refs = [...JSON.stringify(doc).matchAll(/"#\/components\/schemas\/([^"]+)"/g)].map((m) => m[1]!)
    expect(refs.length).toBeGreaterThan(50)
    expect([...new Set(refs)].filter((name) => !(name in doc.components.schemas))).toEqual([])
  })

  it('shows an example of every body, and the server takes it', async () => {
    const wrong: string[] = []
    // The password comes last: setting it ends the session that asks.
    const inOrder = [...operations].sort(([a], [b]) => Number(/password/.test(a)) - Number(/password/.test(b)))
    for (const [name, method, path, op] of inOrder) {
      const body = (op as { requestBody?: { content: Record<string, { schema?: Schema }> } }).requestBody?.content[
        'application/json'
      ]
      if (!body) continue
      const example = exampleOf(doc as unknown as ApiDocument, body.schema)
      const filled = path
        .replace('{lot}/{step}/{count}', 'L01/press/1')
        .replace('{id}', 'L01')
        .replace(/\{[^}]+\}/g, 'x')
      const answer = await made.as('owner')<{ type?: string }>(method.toUpperCase(), filled, example)
      const unfit = answer.status === 400 || answer.status === 415 || answer.status >= 500 || answer.status === 401
      const refused =
        answer.status === 422 && answer.body.type === 'not-valid' && /must|is missing|not known here/.test(answer.text)
      if (example === undefined || (unfit && !/session$/.test(path)) || refused)
        wrong.push(`${name}: ${answer.status} ${answer.text.slice(0, 200)}`)
    }
    expect(wrong).toEqual([])
  })
})
