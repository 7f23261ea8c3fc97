/** Requests that the OpenAPI document rules out, made from the document by chance. */
import { chanceOf } from './chance.ts'
import { type ApiDocument, exampleOf, filledPath, type Operation, resolved, type Schema } from './operations.ts'

export interface Malformed {
  readonly method: string
  readonly path: string
  readonly headers: Readonly<Record<string, string>>
  readonly body?: string
  /** What is wrong with it. */
  readonly why: string
}

type Pick = <T>(values: readonly T[]) => T

const SAME = { 'sec-fetch-site': 'same-origin' }
const JSON_TYPE = { ...SAME, 'content-type': 'application/json' }

/** The endless row of them for one operation; the same seed gives the same row. */
export function* malformed(doc: ApiDocument, op: Operation, seed: number): Generator<Malformed> {
  const { pick } = chanceOf(seed)
  const kinds = kindsOf(doc, op, pick)
  for (;;) yield pick(kinds)()
}

function kindsOf(doc: ApiDocument, op: Operation, pick: Pick): readonly (() => Malformed)[] {
  const good = () => filledPath(doc, op)
  const valid = op.body && exampleOf(doc, op.body)
  const base = { method: op.method, path: good() }
  const kinds: (() => Malformed)[] = []
  const add = (times: number, kind: () => Malformed) => kinds.push(...Array.from({ length: times }, () => kind))
  if (op.body) {
    const { body: schema } = op
    add(6, () => {
      const { value, why } = spoiled(doc, schema, valid, pick, '#')
      return { ...base, headers: JSON_TYPE, body: JSON.stringify(value) ?? '', why }
    })
    add(1, () => ({ ...base, headers: JSON_TYPE, body: pick(NOT_JSON), why: 'not JSON of an object' }))
    add(1, () => ({
      ...base,
      headers: { ...SAME, 'content-type': pick(NOT_JSON_TYPES) },
      body: JSON.stringify(valid),
      why: 'another media type',
    }))
  } else if (op.media.length > 0) {
    add(2, () => ({
      ...base,
      headers: { ...SAME, 'content-type': pick([...NOT_JSON_TYPES, 'application/json']) },
      body: pick(['', '{}', '\u0000', 'a,b\n1']),
      why: 'another media type',
    }))
  }
  const inPath = op.parameters.filter((p) => p.in === 'path')
  if (inPath.length > 0) {
    add(3, () => {
      const { name } = pick(inPath)
      const part = pick(BAD_PARTS)
      const path = op.path.replace(`{${name}}`, part)
      const filled = filledPath(doc, { ...op, path })
      const withBody = valid === undefined ? {} : { headers: JSON_TYPE, body: JSON.stringify(valid) }
      return { ...base, path: filled, headers: SAME, ...withBody, why: `path ${name}` }
    })
  }
  for (const p of op.parameters.filter((q) => q.in === 'query')) {
    const schema = resolved(doc, p.schema)
    const bad = badText(schema)
    if (bad.length === 0) continue
    add(1, () => ({
      ...base,
      path: `${good()}?${p.name}=${encodeURIComponent(pick(bad))}`,
      headers: SAME,
      why: `query ${p.name}`,
    }))
  }
  if (op.method !== 'GET') {
    const body = valid === undefined ? {} : { body: JSON.stringify(valid) }
    add(1, () => ({ ...base, headers: { ...JSON_TYPE, ...pick(ELSEWHERE) }, ...body, why: 'from another site' }))
  } else if (kinds.length === 0) {
    // Nothing can be wrong with a question that takes nothing, but the address.
    add(1, () => ({ ...base, path: `${good()}${pick(BEHIND)}`, headers: SAME, why: 'an address behind it' }))
  }
  return kinds
}

const NOT_JSON = [
  '',
  '{',
  '{"a":',
  '[]',
  '[1,2]',
  'null',
  '1',
  '"text"',
  '{"a":1}}',
  '\ud800',
  '<a/>',
  '{a:1}',
  'NaN',
  '['.repeat(3000),
]
const NOT_JSON_TYPES = [
  'text/plain',
  'text/html',
  'application/xml',
  'multipart/form-data; boundary=x',
  'application/x-www-form-urlencoded',
  'nonsense',
]
const ELSEWHERE = [
  { 'sec-fetch-site': 'cross-site' },
  { 'sec-fetch-site': 'same-site' },
  { 'sec-fetch-site': 'nonsense' },
]
const BAD_PARTS = [
  '%00',
  '%ff',
  '%20',
  // Two dots alone are taken out of an address before it is sent: it would be another one, and in order.
  '..%2e',
  '..%2f..',
  "'",
  '%F0%9F%8D%87',
  '__proto__',
  '%0d%0aset-cookie:x=1',
  'a'.repeat(1500),
  '%3Cscript%3E',
  '-1e999',
  '%7B%7D',
  '~nobody',
]
const BEHIND = ['/%00', '/nobody', '%00', '//', '/..%2f', '/%ff', '/a/b/c/d']

/** Texts that a parameter's schema rules out. */
function badText(schema: Schema): readonly string[] {
  const all = schema.anyOf ?? schema.oneOf
  if (all) return []
  if (schema.enum) return ['zzz', '\u0000', '']
  const types = [schema.type].flat()
  if (types.includes('number') || types.includes('integer')) return ['x', '1e999', 'NaN', '0x', '--1']
  if (types.includes('boolean')) return ['maybe', '2']
  const out: string[] = []
  if (schema.format === 'date-time' || schema.format === 'date')
    out.push('yesterday', '2027-02-30', '2027-13-01T00:00:00Z', '99999')
  if (schema.pattern)
    out.push(...['\u0000', ' !', '<script>', '%'].filter((text) => !new RegExp(schema.pattern!).test(text)))
  if (schema.maxLength !== undefined) out.push('x'.repeat(schema.maxLength + 1))
  return out
}

interface Spoiled {
  readonly value: unknown
  readonly why: string
}

/** A value with one thing wrong in it, however deep. */
function spoiled(doc: ApiDocument, schema: Schema, value: unknown, pick: Pick, at: string): Spoiled {
  const whole = resolved(doc, schema)
  const choices = whole.anyOf ?? whole.oneOf
  if (choices) {
    const nullable = choices.some((c) => resolved(doc, c).type === 'null')
    const others = choices.filter((c) => resolved(doc, c).type !== 'null')
    if (others.length === 1) {
      const inner = spoiled(doc, others[0]!, value, pick, at)
      return nullable && inner.value === null ? { value: { un: 'known' }, why: `${at} of another kind` } : inner
    }
    return { value: { un: 'heard', of: [] }, why: `${at} of another kind` }
  }
  const wrong = wrongsOf(whole, at)
  const deeper: (() => Spoiled)[] = []
  if (typeof value === 'object' && value !== null && !Array.isArray(value) && whole.properties) {
    const given = value as Record<string, unknown>
    for (const [key, part] of Object.entries(whole.properties)) {
      const inner = () => spoiled(doc, part, given[key] ?? exampleOf(doc, part), pick, `${at}/${key}`)
      deeper.push(() => {
        const { value: bad, why } = inner()
        return { value: { ...given, [key]: bad }, why }
      })
    }
    for (const key of whole.required ?? []) {
      // What a body leaves out JSON leaves out too.
      deeper.push(() => ({ value: { ...given, [key]: undefined }, why: `${at}/${key} is missing` }))
    }
    if (whole.additionalProperties === false) {
      deeper.push(() => ({ value: { ...given, unheardOf: 1 }, why: `${at}/unheardOf` }))
    }
  } else if (whole.items && Array.isArray(value)) {
    const { items } = whole
    deeper.push(() => {
      const { value: bad, why } = spoiled(doc, items, value[0] ?? exampleOf(doc, items), pick, `${at}/0`)
      return { value: [bad, ...value.slice(1)], why }
    })
  }
  if (deeper.length === 0 || wrong.length === 0) return pick(deeper.length === 0 ? wrong : deeper.map((one) => one()))
  return pick([pick(wrong), pick(deeper)(), pick(deeper)(), pick(deeper)()])
}

/** Values that the schema itself rules out. */
function wrongsOf(schema: Schema, at: string): readonly Spoiled[] {
  const say = (why: string, ...values: unknown[]) => values.map((value) => ({ value, why: `${at} ${why}` }))
  const types = [schema.type].flat().filter((t) => t !== undefined)
  if (schema.const !== undefined) return say('another value', 'zzz', {}, [])
  if (schema.enum) return say('not among them', 'zzz', '', {}, [], '\u0000')
  if (types.length === 0) return say('of another kind', ...(schema.properties ? [[], 'x', 1] : [{ un: 'known' }]))
  const wrong = say(
    'of another kind',
    ...OTHER_KINDS.filter(([type]) => !types.some((t) => isKind(t, type))).map(([, v]) => v),
  )
  if (types.includes('number') || types.includes('integer')) {
    const { minimum, maximum, exclusiveMinimum, exclusiveMaximum } = schema
    if (minimum !== undefined) wrong.push(...say('too small', minimum - 1, -1e308))
    if (exclusiveMinimum !== undefined) wrong.push(...say('too small', exclusiveMinimum, -1e308))
    if (maximum !== undefined) wrong.push(...say('too large', maximum + 1, 1e308))
    if (exclusiveMaximum !== undefined) wrong.push(...say('too large', exclusiveMaximum))
    if (types.includes('integer')) wrong.push(...say('not whole', 1.5))
  }
  if (types.includes('string')) {
    if (schema.maxLength !== undefined) wrong.push(...say('too long', 'x'.repeat(schema.maxLength + 1)))
    if (schema.minLength) wrong.push(...say('empty', ''))
    if (schema.format === 'uuid') wrong.push(...say('no UUID', 'x', '\u0000'))
    if (schema.format === 'date-time' || schema.format === 'date')
      wrong.push(...say('no date', 'yesterday', '2027-02-30', ''))
    if (schema.pattern) {
      const pattern = new RegExp(schema.pattern)
      wrong.push(...say('off the pattern', ...['\u0000', ' !', '<script>', '😀'].filter((text) => !pattern.test(text))))
    }
  }
  if (types.includes('array')) {
    if (schema.maxItems !== undefined && schema.maxItems < 2000) {
      wrong.push(
        ...say(
          'too many',
          Array.from({ length: schema.maxItems + 1 }, () => null),
        ),
      )
    }
    if (schema.minItems) wrong.push(...say('too few', []))
  }
  return wrong
}

const OTHER_KINDS: readonly (readonly [type: string, value: unknown])[] = [
  ['null', null],
  ['boolean', true],
  ['number', 7],
  ['string', 'x'],
  ['array', [[[]]]],
  ['object', { un: 'known' }],
]

const isKind = (type: string, kind: string) => type === kind || (type === 'integer' && kind === 'number')
