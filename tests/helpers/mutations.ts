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
    named: 'starts a formula',
  },
  {
    guard: 'escaping of calendar text',
    file: 'api/feed/text.ts',
    // biome-ignore lint/suspicious/noTemplateCurlyInString: a piece of code, as it stands there
    from: 'text.replace(/[\\\\;,]/g, (c) => `\\\\${c}`)',
    to: 'text',
    project: 'pure',
    test: 'tests/feed/write.test.ts',
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

/** A copy of the tree, so that nobody's work is touched. */
function copyOfTree(): string {
  const folder = mkdtempSync(join(tmpdir(), 'leesway-mutation-'))
  for (const name of COPIED) cpSync(join(ROOT, name), join(folder, name), { recursive: true })
  symlinkSync(join(ROOT, 'node_modules'), join(folder, 'node_modules'))
  return folder
}

/** @throws Error where no test ran at all, which proves nothing */
function passes(folder: string, mutations: readonly Mutation[]): boolean {
  const files = [...new Set(mutations.map((m) => m.test))]
  const names = mutations.map((m) => m.named)
  const named = names.includes(undefined) ? [] : ['-t', names.map((n) => `(${n})`).join('|')]
  const args = ['vitest', 'run', '--config', 'tests/vitest.config.ts', '--project', mutations[0]!.project]
  const run = spawnSync('npx', [...args, ...files, ...named], { cwd: folder, encoding: 'utf8' })
  // biome-ignore lint/suspicious/noControlCharactersInRegex: colours are told by one
  const said = run.stdout.replace(/\u001b\[\d+m/g, '')
  if (!/Tests\s+.*\d+ (passed|failed)/.test(said)) throw new Error(`no test ran:\n${said}\n${run.stderr}`)
  return run.status === 0
}

/** Whether the tests of a guard turn red without it. @throws Error where the guard is not there */
function isHeld(folder: string, mutation: Mutation): boolean {
  const path = join(folder, mutation.file)
  const text = readFileSync(path, 'utf8')
  if (!text.includes(mutation.from)) throw new Error(`${mutation.file} does not hold: ${mutation.from}`)
  writeFileSync(path, text.replaceAll(mutation.from, mutation.to))
  try {
    return !passes(folder, [mutation])
  } finally {
    writeFileSync(path, text)
  }
}

const folder = copyOfTree()
try {
  for (const project of new Set(MUTATIONS.map((m) => m.project))) {
    const mine = MUTATIONS.filter((m) => m.project === project)
    if (!passes(folder, mine)) throw new Error(`tests of ${project} are red already`)
    for (const mutation of mine) {
      const held = isHeld(folder, mutation)
      console.log(`without the ${mutation.guard}: ${mutation.test} ${held ? 'turns red' : 'STAYS GREEN'}`)
      if (!held) process.exitCode = 1
    }
  }
} finally {
  rmSync(folder, { recursive: true, force: true })
}
