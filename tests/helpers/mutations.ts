/**
 * `npm run mutations`: takes each guard out of a copy of the tree, one at a time, and runs the tests that should notice.
 * A guard whose removal leaves its tests green is not held by them.
 */
import { spawnSync } from 'node:child_process'
import { cpSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'

interface Mutation {
  readonly guard: string
  readonly file: string
  readonly from: string
  readonly to: string
  readonly project: 'pglite' | 'pure' | 'postgres'
  readonly test: string
  /** Which of the file's tests; all where it is not said. */
  readonly named?: string
}

const MUTATIONS: readonly Mutation[] = [
  {
    guard: 'role check',
    file: 'api/guards.ts',
    from: "if (verdict === 'not-allowed') {",
    to: "if (verdict === 'never') {",
    project: 'pglite',
    test: 'tests/api/access.test.ts',
    named: 'lets the viewer',
  },
  {
    guard: 'version check',
    file: 'db/queries/people.ts',
    from: '.where(and(key, eq(person.version, version)))',
    to: '.where(key)',
    project: 'pglite',
    test: 'tests/api/races.test.ts',
    named: 'one of eight',
  },
  {
    guard: 'operation id',
    file: 'api/acts.ts',
    from: '...(body.opId ? { opId: body.opId } : {}),',
    to: '',
    project: 'pglite',
    test: 'tests/api/races.test.ts',
    named: 'stores a tick once',
  },
  {
    guard: 'escaping of spreadsheet formulas',
    file: 'api/csv.ts',
    // biome-ignore lint/suspicious/noTemplateCurlyInString: a piece of code, as it stands there
    from: "return FORMULA.test(text) ? `'${text}` : text",
    to: 'return FORMULA.test("") ? "" : text',
    project: 'pglite',
    test: 'tests/api/tables.test.ts',
  },
  {
    guard: 'refusal of other sites',
    file: 'api/guards.ts',
    from: ': SAME.has(site)',
    to: ': site.length > 0',
    project: 'pglite',
    test: 'tests/api/noes.test.ts',
    named: 'page elsewhere',
  },
  {
    guard: 'wall in the database',
    file: 'db/wall.ts',
    // biome-ignore lint/suspicious/noTemplateCurlyInString: a piece of code, as it stands there
    from: 'using (${policyOf(String(table))})',
    // biome-ignore lint/suspicious/noTemplateCurlyInString: a piece of code, as it stands there
    to: 'using (true or ${policyOf(String(table))})',
    project: 'postgres',
    test: 'tests/db/wall.test.ts',
  },
]

const ROOT = join(import.meta.dirname, '../..')
const COPIED = ['api', 'db', 'tests', 'web', 'package.json', 'tsconfig.json']

/** A copy of the tree with one thing changed. @throws Error where the text is not there just once */
function copyWith(mutation: Mutation | undefined): string {
  const folder = mkdtempSync(join(tmpdir(), 'leesway-mutation-'))
  for (const name of COPIED) cpSync(join(ROOT, name), join(folder, name), { recursive: true })
  symlinkSync(join(ROOT, 'node_modules'), join(folder, 'node_modules'))
  if (!mutation) return folder
  const path = join(folder, mutation.file)
  const text = readFileSync(path, 'utf8')
  const found = text.split(mutation.from).length - 1
  if (found < 1) throw new Error(`${mutation.file} does not hold: ${mutation.from}`)
  writeFileSync(path, text.replaceAll(mutation.from, mutation.to))
  return folder
}

function passes(mutation: Mutation, folder: string): boolean {
  const named = mutation.named ? ['-t', mutation.named] : []
  const args = ['vitest', 'run', '--config', 'tests/vitest.config.ts', '--project', mutation.project, mutation.test]
  const run = spawnSync('npx', [...args, ...named], { cwd: folder, encoding: 'utf8' })
  // A run that found no test at all proves nothing.
  if (!/Tests\s+.*\d+ (passed|failed)/.test(run.stdout)) throw new Error(`no test ran:\n${run.stdout}\n${run.stderr}`)
  return run.status === 0
}

let unseen = 0
for (const mutation of MUTATIONS) {
  const [whole, without] = [copyWith(undefined), copyWith(mutation)]
  const [before, after] = [passes(mutation, whole), passes(mutation, without)]
  for (const folder of [whole, without]) rmSync(folder, { recursive: true, force: true })
  const held = before && !after
  if (!held) unseen++
  const state = held ? 'turns red' : before ? 'STAYS GREEN' : 'is red already'
  console.log(`without the ${mutation.guard}: ${mutation.test}${mutation.named ? ` (${mutation.named})` : ''} ${state}`)
}
process.exitCode = unseen === 0 ? 0 : 1
