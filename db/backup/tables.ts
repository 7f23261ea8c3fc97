import type { Raw } from '../raw.ts'

export interface CopiedTable {
  readonly name: string
  /** As they stand in the table, without those the database computes. */
  readonly columns: readonly string[]
}

/** Who is signed in, and links that would sign somebody in, end with the database they were made in. */
const LEFT_OUT: ReadonlySet<string> = new Set(['session', 'login_link', 'challenge'])

/** Every table whose rows are copied, each after those it refers to. @throws Error where references go round in a circle */
export async function copiedTables(raw: Raw): Promise<readonly CopiedTable[]> {
  const columns = await raw.ask<{ table: string; column: string }>(`
    select c.table_name as "table", c.column_name as "column"
    from information_schema.columns c
    join information_schema.tables t using (table_schema, table_name)
    where c.table_schema = 'public' and t.table_type = 'BASE TABLE' and c.is_generated = 'NEVER'
    order by c.table_name, c.ordinal_position`)
  const references = await raw.ask<{ from: string; to: string }>(`
    select distinct f.relname as "from", t.relname as "to"
    from pg_constraint k
    join pg_class f on f.oid = k.conrelid
    join pg_class t on t.oid = k.confrelid
    join pg_namespace n on n.oid = f.relnamespace
    where k.contype = 'f' and n.nspname = 'public' and f.oid <> t.oid`)
  const byName = new Map<string, string[]>()
  for (const { table, column } of columns) byName.set(table, [...(byName.get(table) ?? []), column])
  return inOrder([...byName.keys()], references)
    .filter((name) => !LEFT_OUT.has(name))
    .map((name) => ({ name, columns: byName.get(name) ?? [] }))
}

function inOrder(names: readonly string[], references: readonly { from: string; to: string }[]): readonly string[] {
  const done: string[] = []
  let left = [...names]
  while (left.length > 0) {
    const free = left.filter((name) => !references.some((r) => r.from === name && left.includes(r.to)))
    if (free.length === 0) throw new Error(`tables refer to each other in a circle: ${left.join(', ')}`)
    done.push(...free)
    left = left.filter((name) => !free.includes(name))
  }
  return done
}

export const quoted = (name: string): string => `"${name.replaceAll('"', '""')}"`

/** The table and its columns, as `copy` wants them. */
export const copyOf = (table: CopiedTable): string =>
  `copy ${quoted(table.name)} (${table.columns.map(quoted).join(', ')})`
