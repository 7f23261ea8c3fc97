/** A reader of calendar text of its own: it shares no code with the writer. */
export interface Property {
  readonly name: string
  readonly params: Readonly<Record<string, string>>
  readonly value: string
}

export interface Component {
  readonly name: string
  readonly properties: readonly Property[]
  readonly components: readonly Component[]
  /** True where a property stands after a sub-component. */
  readonly lateProperty: boolean
}

export interface Read {
  readonly body: string
  readonly physical: readonly string[]
  readonly logical: readonly string[]
  readonly root: Component
}

interface Open {
  name: string
  properties: Property[]
  components: Component[]
  lateProperty: boolean
}

function property(line: string): Property {
  const parts: string[] = []
  let quoted = false
  let from = 0
  let i = 0
  for (; i < line.length; i++) {
    const c = line[i]
    if (c === '"') quoted = !quoted
    if (quoted) continue
    if (c === ':' || c === ';') {
      parts.push(line.slice(from, i))
      from = i + 1
    }
    if (c === ':') break
  }
  if (i === line.length) throw new Error(`no colon in ${line}`)
  const [name = '', ...params] = parts
  const pairs = params.map((p) => [p.slice(0, p.indexOf('=')), p.slice(p.indexOf('=') + 1)])
  return { name, params: Object.fromEntries(pairs), value: line.slice(i + 1) }
}

export function read(body: string): Read {
  const physical = body.split('\r\n')
  const logical = body.replaceAll('\r\n ', '').replaceAll('\r\n\t', '').split('\r\n').filter(Boolean)
  const top: Open = { name: '', properties: [], components: [], lateProperty: false }
  const stack: Open[] = [top]
  for (const line of logical) {
    const p = property(line)
    const open = stack[stack.length - 1]!
    if (p.name === 'BEGIN') stack.push({ name: p.value, properties: [], components: [], lateProperty: false })
    else if (p.name === 'END') {
      const closed = stack.pop()!
      if (closed.name !== p.value) throw new Error(`END:${p.value} closes ${closed.name}`)
      stack[stack.length - 1]!.components.push(closed)
    } else {
      if (open.components.length > 0) open.lateProperty = true
      open.properties.push(p)
    }
  }
  if (stack.length !== 1 || top.components.length !== 1) throw new Error('not one calendar')
  return { body, physical, logical, root: top.components[0]! }
}

export const all = (c: Component, name: string): Property[] => c.properties.filter((p) => p.name === name)
export const one = (c: Component, name: string): Property | undefined => all(c, name)[0]
export const events = (r: Read): Component[] => r.root.components.filter((c) => c.name === 'VEVENT')
export const zones = (r: Read): Component[] => r.root.components.filter((c) => c.name === 'VTIMEZONE')
export const alarms = (r: Read): Component[] =>
  events(r).flatMap((e) => e.components.filter((c) => c.name === 'VALARM'))

/** TEXT back to what was meant (RFC 5545 section 3.3.11). */
export const unescapeText = (value: string): string =>
  value.replace(/\\([\\;,nN])/g, (_, c: string) => (c === 'n' || c === 'N' ? '\n' : c))
