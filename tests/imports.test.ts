import { readdirSync, readFileSync } from 'node:fs'
import { dirname, join, relative } from 'node:path'
import { describe, expect, it } from 'vitest'

// Reads every source file as text, so it works with any compiler, and names the import that breaks a wall.
const ROOT = join(import.meta.dirname, '..')

interface Wall {
  readonly from: string
  /** Folders and files it may import; `type x` only as a type. Its own folder is always allowed. */
  readonly may: readonly string[]
  /** Packages it may import. Absent: any. */
  readonly packages?: readonly string[]
}

/** Who may import whom. The first wall whose `from` fits a file decides. */
const WALLS: readonly Wall[] = [
  { from: 'api/result.ts', may: [], packages: [] },
  { from: 'api/time.ts', may: [], packages: ['temporal-polyfill'] },
  { from: 'api/cellar/', may: ['api/result.ts'], packages: [] },
  {
    from: 'api/schedule/',
    may: ['api/result.ts', 'api/time.ts'],
    packages: [],
  },
  {
    from: 'api/protocol/',
    may: ['api/cellar/', 'api/schedule/types.ts', 'api/result.ts', 'api/time.ts'],
    packages: ['zod'],
  },
  {
    from: 'api/plan.ts',
    may: ['api/cellar/', 'api/protocol/', 'api/schedule/', 'api/result.ts', 'api/time.ts'],
    packages: [],
  },
  {
    from: 'db/',
    may: ['api/cellar/', 'api/protocol/', 'api/schedule/types.ts', 'api/result.ts', 'api/time.ts'],
  },
  {
    from: 'web/',
    may: [
      'type api/app.ts',
      'type api/wire.ts',
      'api/cellar/',
      'api/protocol/choices.ts',
      'api/protocol/defaults.ts',
      'api/protocol/notes.ts',
      'api/protocol/conflicts',
      'type api/protocol/',
      'api/result.ts',
      'api/time.ts',
    ],
  },
  { from: 'api/', may: ['api/', 'db/'] },
]

const files = readdirSync(ROOT, { recursive: true, encoding: 'utf8' })
  .map((f) => f.replaceAll('\\', '/'))
  .filter((f) => /^(api|db|web)\/.*\.tsx?$/.test(f) && !f.includes('node_modules'))
  .sort()

interface Import {
  readonly isType: boolean
  readonly target: string
}

const importsOf = (file: string): Import[] =>
  [
    ...readFileSync(join(ROOT, file), 'utf8').matchAll(
      /^(?:import|export)\b(\s+type\b)?[^'";]*?from\s+'([^']+)'|^import\s+'([^']+)'|\bimport\('([^']+)'\)/gm,
    ),
  ].map(([, isType, a, b, c]) => ({
    isType: Boolean(isType),
    target: a ?? b ?? c ?? '',
  }))

const broken = (file: string, wall: Wall): string[] =>
  importsOf(file)
    .filter(({ isType, target }) => {
      if (!target.startsWith('.')) return wall.packages !== undefined && !wall.packages.includes(target)
      const path = relative(ROOT, join(ROOT, dirname(file), target)).replaceAll('\\', '/')
      if (path.startsWith(wall.from)) return false
      return !wall.may.some(
        (m) => path.startsWith(m) || (isType && m.startsWith('type ') && path.startsWith(m.slice(5))),
      )
    })
    .map((i) => `${file} imports ${i.target}`)

describe('imports', () => {
  it('finds the source files it is to judge', () => {
    expect(files.length).toBeGreaterThan(7)
  })

  it.each(files)('%s imports only what it may', (file) => {
    const wall = WALLS.find((w) => file.startsWith(w.from))
    expect(wall, `no wall for ${file}`).toBeDefined()
    if (wall) expect(broken(file, wall)).toEqual([])
  })

  it.each(files)('%s imports no test', (file) => {
    expect(importsOf(file).filter((i) => /(^|\/)tests\//.test(i.target))).toEqual([])
  })

  it('only time and the database columns name the Temporal polyfill', () => {
    const naming = files.filter((f) => importsOf(f).some((i) => i.target === 'temporal-polyfill'))
    expect(naming).toEqual(['api/time.ts'])
  })
})

const PURE =
  /^(api\/(cellar|protocol|schedule|feed)\/|api\/(plan|result|time)\.ts|web\/(timeline|calendar|ledger)\/[a-z-]+\.ts$)/
const IMPURE = /\bDate\.now\b|\bnew Date\(\)|\bMath\.random\b|\bTemporal\.Now\b|\bprocess\.|\bfetch\(|\bconsole\./

describe('pure files', () => {
  it.each(files.filter((f) => PURE.test(f)))('%s reads no clock, chance, environment or network', (file) => {
    expect(readFileSync(join(ROOT, file), 'utf8').match(IMPURE)).toBeNull()
  })
})
