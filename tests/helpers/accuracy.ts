import { type Compared, compare, listPublished, publishedRows } from './published.ts'

/** `npm run accuracy`: every published value against our own figure, by topic; ends with an error when one is outside. */
const all = listPublished().flatMap((name) => publishedRows(name).map(compare))
const topics = [...new Set(all.map((c) => c.row.topic))]

const heads = [
  'topic',
  'rows',
  'outside',
  'largest error',
  'tolerance',
  'of it used',
  'independent',
  'memory',
  'source of the worst row',
]
const lines = topics.map((topic) => {
  const rows = all.filter((c) => c.row.topic === topic)
  const worst = rows.toSorted((a, b) => used(b) - used(a))[0] as Compared
  return [
    topic,
    String(rows.length),
    String(rows.filter((c) => !c.holds).length),
    `${short(worst.error)} ${worst.row.unit}`.slice(0, 26),
    short(worst.allowed),
    `${Math.round(100 * used(worst))} %`,
    String(rows.filter((c) => c.row.independent).length),
    rows.some((c) => c.row.status === 'MEMORY')
      ? `${rows.filter((c) => c.row.status === 'MEMORY').length} MEMORY`
      : '-',
    worst.row.source.slice(0, 60),
  ]
})
const widths = heads.map((head, col) => Math.max(head.length, ...lines.map((line) => (line[col] as string).length)))
const print = (cells: readonly string[]) =>
  process.stdout.write(
    `${cells
      .map((cell, col) => cell.padEnd(widths[col] as number))
      .join('  ')
      .trimEnd()}\n`,
  )

print(heads)
print(widths.map((w) => '-'.repeat(w)))
lines.forEach(print)
const memory = all.filter((c) => c.row.status === 'MEMORY')
process.stdout.write(`\n${all.length} rows. From memory, to be verified before anyone calls them a rule:\n`)
for (const c of memory)
  process.stdout.write(`  MEMORY  ${c.row.id}: ${c.row.expected} ${c.row.unit} (${c.row.source})\n`)
const outside = all.filter((c) => !c.holds)
for (const c of outside)
  process.stdout.write(`  OUTSIDE ${c.row.id}: got ${c.got}, expected ${c.row.expected} ${c.row.unit}\n`)
if (outside.length > 0) process.exitCode = 1

function used(c: Compared): number {
  return c.allowed === 0 ? (c.holds ? 0 : 1e9) : c.error / c.allowed
}

function short(x: number): string {
  if (x === 0) return '0'
  return Math.abs(x) < 1e-3 ? x.toExponential(1) : String(Number(x.toPrecision(3)))
}
