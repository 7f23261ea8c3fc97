/**
 * `npm test`: every project of the tests, as many at once as the machine bears, the longest first; each is a run of
 * its own, since one run would take them one after another. What failed is said again at the end. A browser file that
 * failed while everything else ran beside it is run once more by itself, and the output says which were green only then.
 * With arguments it is one run of vitest with these.
 */
import { type ChildProcess, spawn } from 'node:child_process'
import { readFileSync, rmSync } from 'node:fs'
import { availableParallelism } from 'node:os'
import { join, relative } from 'node:path'
import { createInterface } from 'node:readline'
import { buildServer } from '../api/build.ts'
import { PROJECTS } from './vitest.config.ts'

const ROOT = join(import.meta.dirname, '..')
const RESULTS = join(ROOT, 'tests/.results')
/** More would share one PostgreSQL, one Chromium and the disk for nothing. */
const MOST_AT_ONCE = 4
/** Tests of people's screens go by the clock; a machine that plans and writes beside them may be too slow for one. */
const RUN_AGAIN = 'browser'
const MOST_LINES = 12

interface Failure {
  readonly file: string
  readonly name: string
  readonly message: string
}

interface Outcome {
  readonly project: string
  readonly code: number
  readonly passed: number
  readonly failed: number
  readonly skipped: number
  readonly seconds: number
  readonly failures: readonly Failure[]
  /** An error that belongs to no test: a test that passes the second time takes none of it back. */
  readonly hasUnhandled: boolean
  /** Tests that passed, by the file's path. */
  readonly passedByFile: ReadonlyMap<string, number>
}

const running = new Set<ChildProcess>()
let isStopped = false

function vitest(args: readonly string[], env: Env, piped: boolean): ChildProcess {
  const program = join(ROOT, 'node_modules/vitest/vitest.mjs')
  const child = spawn(process.execPath, [program, 'run', '--config', 'tests/vitest.config.ts', ...args], {
    cwd: ROOT,
    env: { ...process.env, ...env },
    stdio: piped ? ['ignore', 'pipe', 'pipe'] : 'inherit',
  })
  running.add(child)
  child.once('exit', () => running.delete(child))
  return child
}

const ended = (child: ChildProcess) => new Promise<number>((done) => child.once('close', (code) => done(code ?? 1)))

/** @returns whether anything failed that belongs to no test, once all is said */
function tell(project: string, child: ChildProcess): () => boolean {
  let hasUnhandled = false
  for (const stream of [child.stdout, child.stderr]) {
    if (!stream) continue
    createInterface({ input: stream }).on('line', (line) => {
      if (/Unhandled (Errors?|Rejection|Exception)/.test(line)) hasUnhandled = true
      console.log(`${project} | ${line}`)
    })
  }
  return () => hasUnhandled
}

/** The part of vitest's own report that is read. */
interface Report {
  readonly numFailedTests: number
  readonly numFailedTestSuites: number
  readonly numPassedTests: number
  readonly numPendingTests: number
  readonly testResults: readonly {
    readonly name: string
    readonly status: string
    readonly message: string
    readonly assertionResults: readonly {
      readonly status: string
      readonly fullName: string
      readonly failureMessages: readonly string[] | null
    }[]
  }[]
}

/** What vitest itself counted; a run that ended before it could count is one failure. */
function counted(project: string, code: number, seconds: number, hasUnhandled: boolean): Outcome {
  try {
    const said: Report = JSON.parse(readFileSync(join(RESULTS, `${project}.json`), 'utf8'))
    const failed = Math.max(said.numFailedTests, said.numFailedTestSuites > 0 ? 1 : 0, code === 0 ? 0 : 1)
    const { numPassedTests: passed, numPendingTests: skipped } = said
    const passedByFile = new Map(
      said.testResults.map((f) => [f.name, f.assertionResults.filter((test) => test.status === 'passed').length]),
    )
    return { project, code, passed, failed, skipped, seconds, failures: failuresOf(said), hasUnhandled, passedByFile }
  } catch {
    return {
      project,
      code: code || 1,
      passed: 0,
      failed: 1,
      skipped: 0,
      seconds,
      failures: [],
      hasUnhandled,
      passedByFile: new Map(),
    }
  }
}

function failuresOf(said: Report): readonly Failure[] {
  return said.testResults.flatMap((file) => {
    const failed = file.assertionResults.filter((test) => test.status === 'failed')
    const told = failed.map((test) => ({
      file: file.name,
      name: test.fullName,
      message: test.failureMessages?.[0] ?? '',
    }))
    return file.status === 'failed' && told.length === 0
      ? [{ file: file.name, name: 'the file itself', message: file.message }]
      : told
  })
}

const passedIn = (o: Outcome, files: readonly string[]) =>
  files.reduce((n, file) => n + (o.passedByFile.get(join(ROOT, file)) ?? 0), 0)

const named = ({ file, name }: Failure) => `${relative(ROOT, file)} > ${name}`

function tellFailures({ project, failures }: Outcome): void {
  for (const failure of failures) {
    console.log(`${project} FAILED ${named(failure)}`)
    for (const line of failure.message.split('\n').slice(0, MOST_LINES)) console.log(`    ${line}`)
  }
}

/** The files that failed once more, with nothing beside them; what they count then replaces what they counted. */
async function runAgain(first: Outcome, env: Env): Promise<Outcome> {
  const files = [...new Set(first.failures.map((f) => relative(ROOT, f.file)))]
  console.log(`${first.project}: once more by itself: ${files.join(', ')}`)
  const second = await runProject(first.project, 1, env, files)
  const still = new Set(second.failures.map(named))
  for (const f of first.failures) {
    if (!still.has(named(f))) console.log(`${first.project}: green only when run by itself: ${named(f)}`)
  }
  return {
    ...second,
    passed: first.passed - passedIn(first, files) + second.passed,
    skipped: first.skipped,
    seconds: first.seconds + second.seconds,
  }
}

type Env = Readonly<Record<string, string>>

async function runProject(project: string, workers: number, env: Env, files: readonly string[] = []): Promise<Outcome> {
  const began = Date.now()
  const args = ['--project', project, '--maxWorkers', String(workers), ...files]
  const child = vitest(args, { ...env, TEST_RESULTS: project }, true)
  const hasUnhandled = tell(project, child)
  const code = await ended(child)
  return counted(project, code, Math.round((Date.now() - began) / 1000), hasUnhandled())
}

async function runAll(): Promise<number> {
  for (const project of PROJECTS) rmSync(join(RESULTS, `${project}.json`), { force: true })
  const BUILT_SERVER = buildServer(join(RESULTS, 'server'))
  const cores = availableParallelism()
  const lanes = Math.max(1, Math.min(MOST_AT_ONCE, cores))
  const waiting = [...PROJECTS]
  const outcomes: Outcome[] = []
  const lane = async () => {
    for (let next = waiting.shift(); next && !isStopped; next = waiting.shift()) {
      outcomes.push(await runProject(next, Math.max(1, Math.floor(cores / lanes)), { BUILT_SERVER }))
    }
  }
  await Promise.all(Array.from({ length: lanes }, lane))
  const shaky = outcomes.findIndex((o) => o.project === RUN_AGAIN && o.failures.length > 0 && !o.hasUnhandled)
  if (shaky >= 0 && !isStopped) {
    const first = outcomes[shaky]!
    tellFailures(first)
    outcomes[shaky] = await runAgain(first, { BUILT_SERVER })
  }
  for (const o of outcomes) tellFailures(o)
  const sum = (pick: (o: Outcome) => number) => outcomes.reduce((n, o) => n + pick(o), 0)
  for (const o of outcomes) {
    console.log(`${o.project}: ${o.passed} passed, ${o.failed} failed, ${o.skipped} skipped, ${o.seconds} s`)
  }
  console.log(`${sum((o) => o.passed)} passed, ${sum((o) => o.failed)} failed`)
  return isStopped || outcomes.some((o) => o.code !== 0 || o.failed > 0) ? 1 : 0
}

for (const signal of ['SIGINT', 'SIGTERM'] as const) {
  process.once(signal, () => {
    isStopped = true
    for (const child of running) child.kill(signal)
  })
}

const given = process.argv.slice(2)
process.exitCode = given.length > 0 ? await ended(vitest(given, {}, false)) : await runAll()
