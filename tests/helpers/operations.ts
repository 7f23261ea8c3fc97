/** The operations of the OpenAPI document, with what it says of them: for tests that go through all of them. */

export interface Schema {
  readonly $ref?: string
  readonly type?: string | readonly string[]
  readonly enum?: readonly unknown[]
  readonly const?: unknown
  readonly example?: unknown
  readonly pattern?: string
  readonly format?: string
  readonly minimum?: number
  readonly maximum?: number
  readonly exclusiveMinimum?: number
  readonly exclusiveMaximum?: number
  readonly minLength?: number
  readonly maxLength?: number
  readonly minItems?: number
  readonly maxItems?: number
  readonly items?: Schema
  readonly prefixItems?: readonly Schema[]
  readonly properties?: Readonly<Record<string, Schema>>
  readonly required?: readonly string[]
  readonly additionalProperties?: boolean | Schema
  readonly anyOf?: readonly Schema[]
  readonly oneOf?: readonly Schema[]
  readonly allOf?: readonly Schema[]
}

export interface Parameter {
  readonly in: 'path' | 'query' | 'header' | 'cookie'
  readonly name: string
  readonly required?: boolean
  readonly schema?: Schema
}

interface Described {
  readonly 'x-roles'?: readonly string[]
  readonly parameters?: readonly Parameter[]
  readonly requestBody?: {
    readonly required?: boolean
    readonly content: Readonly<Record<string, { readonly schema?: Schema }>>
  }
}

export interface ApiDocument {
  readonly paths: Readonly<Record<string, Readonly<Record<string, Described>>>>
  readonly components: { readonly schemas: Readonly<Record<string, Schema>> }
}

export interface Operation {
  /** `GET /api/lots/{id}` */
  readonly name: string
  readonly method: string
  readonly path: string
  readonly roles: readonly string[]
  readonly parameters: readonly Parameter[]
  /** Of a JSON body, where it takes one. */
  readonly body?: Schema
  /** Media types of its body. */
  readonly media: readonly string[]
}

export const operationsOf = (doc: ApiDocument): readonly Operation[] =>
  Object.entries(doc.paths).flatMap(([path, methods]) =>
    Object.entries(methods).map(([method, op]) => {
      const body = op.requestBody?.content['application/json']?.schema
      return {
        name: `${method.toUpperCase()} ${path}`,
        method: method.toUpperCase(),
        path,
        roles: op['x-roles'] ?? [],
        parameters: op.parameters ?? [],
        media: Object.keys(op.requestBody?.content ?? {}),
        ...(body ? { body } : {}),
      }
    }),
  )

/** The schema itself, references followed and parts of `allOf` laid together. */
export function resolved(doc: ApiDocument, schema: Schema | undefined): Schema {
  if (schema?.$ref) return resolved(doc, doc.components.schemas[schema.$ref.split('/').at(-1) ?? ''])
  if (!schema?.allOf) return schema ?? {}
  const parts = [...schema.allOf.map((part) => resolved(doc, part)), schema]
  const properties = Object.assign({}, ...parts.map((part) => part.properties ?? {}))
  const { allOf: _, ...whole } = Object.assign({}, ...parts) as Schema
  return Object.keys(properties).length > 0 ? { ...whole, properties } : whole
}

/** The example of a schema, or one put together of those of its parts. */
export function exampleOf(doc: ApiDocument, schema: Schema | undefined): unknown {
  const { example, items, properties, minItems } = resolved(doc, schema)
  if (example !== undefined) return example
  if (items) return Array.from({ length: Math.max(1, minItems ?? 1) }, () => exampleOf(doc, items))
  if (!properties) return undefined
  const parts = Object.entries(properties).map(([key, part]) => [key, exampleOf(doc, part)] as const)
  return Object.fromEntries(parts.filter(([, part]) => part !== undefined))
}

/** A path with its parameters filled by the examples they show. */
export function filledPath(doc: ApiDocument, op: Operation, given: Readonly<Record<string, string>> = {}): string {
  return op.path.replaceAll(/\{([^}]+)\}/g, (_, name: string) => {
    const parameter = op.parameters.find((p) => p.in === 'path' && p.name === name)
    const { example, enum: values } = resolved(doc, parameter?.schema)
    return encodeURIComponent(String(given[name] ?? example ?? values?.[0] ?? 'none'))
  })
}
