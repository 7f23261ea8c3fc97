/**
 * `npm test`: every project of the tests, as many at once as the machine bears, the longest first; each is a run of
 * its own, since one run would take them one after another. With arguments it is one run of vitest with these.
 */
import { type ChildProcess, spawn } from 'node:child_process'
import { readFileSync, rmSync } from 'node:fs'
import { availableParallelism } from 'node:os'
import { join } from 'node:path'
import { createInterface } from 'node:readline'
import { buildServer } from '../api/build.ts'
import { PROJECTS } from './vitest.config.ts'

const ROOT = join(import.meta.dirname, '..')
const RESULTS = join(ROOT, 'tests/.results')
/** More would share one PostgreSQL, one Chromium and the disk for nothing. */
const MOST_AT_ONCE = 4

interface Outcome {
  readonly project: string
  readonly code: number
  readonly passed: number
  readonly failed: number
  readonly skipped: number
  readonly seconds: number
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

function tell(project: string, child: ChildProcess): void {
  for (const stream of [child.stdout, child.stderr]) {
    if (stream) createInterface({ input: stream }).on('line', (line) => console.log(`${project} | ${line}`))
  }
}

/** What vitest itself counted; a run that ended before it could count is one failure. */
function counted(project: string, code: number, seconds: number): Outcome {
  try {
    const said = JSON.parse(readFileSync(join(RESULTS, `${project}.json`), 'utf8'))
    const failed = Math.max(said.numFailedTests, said.numFailedTestSuites > 0 ? 1 : 0, code === 0 ? 0 : 1)
    return { project, code, passed: said.numPassedTests, failed, skipped: said.numPendingTests, seconds }
  } catch {
    return { project, code: code || 1, passed: 0, failed: 1, skipped: 0, seconds }
  }
}

type Env = Readonly<Record<string, string>>

async function runProject(project: string, workers: number, env: Env): Promise<Outcome> {
  const began = Date.now()
  const child = vitest(['--project', project, '--maxWorkers', String(workers)], { ...env, TEST_RESULTS: project }, true)
  tell(project, child)
  const code = await ended(child)
  return counted(project, code, Math.round((Date.now() - began) / 1000))
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
