/** Starts the built app on a free port with its own data folder, and a real Chromium to look at it. */
import { type ChildProcess, spawn } from 'node:child_process'
import { existsSync, mkdtempSync, rmSync } from 'node:fs'
import { createServer } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { type Browser, type BrowserContext, chromium, type Page } from 'playwright-core'
import { serverFile } from './built.ts'

const ROOT = join(import.meta.dirname, '../..')
const START_MS = 120_000
/** A plan may be made four times before an answer, on a machine that has other work. */
const PATIENT_MS = 120_000

const FLAGS = [
  '--no-sandbox',
  '--headless',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
]

/** @throws with the exact command that installs a browser where there is none */
export function chromiumPath(): string {
  const path = process.env.CHROMIUM ?? '/usr/bin/chromium'
  if (existsSync(path)) return path
  throw new Error(
    `There is no browser at ${path}. Install one: apt-get install -y chromium (or set CHROMIUM to its path)`,
  )
}

export async function openBrowser(): Promise<Browser> {
  const browser = await chromium.launch({ executablePath: chromiumPath(), args: FLAGS, headless: true })
  browser.on('context', (context) => {
    context.setDefaultTimeout(PATIENT_MS)
    contexts.add(context)
    context.once('close', () => contexts.delete(context))
  })
  return browser
}

const contexts = new Set<BrowserContext>()

/** Every page that is open in a browser of these tests. */
export const openPages = (): readonly Page[] => [...contexts].flatMap((context) => context.pages())

export interface RunningApp {
  readonly url: string
  /** The one-time link of the owner, as the start printed it. */
  readonly link: string
  readonly output: () => string
  readonly close: () => Promise<void>
}

/** @param args after the program's name: `--empty`, `--demo`, `--at 2027-03-22` */
export async function startApp(args: readonly string[] = []): Promise<RunningApp> {
  if (!existsSync(join(ROOT, 'dist/web/index.html'))) throw new Error('The screens are not built: npm run build')
  const port = await freePort()
  const dataDir = mkdtempSync(join(tmpdir(), 'leesway-browser-'))
  const child = spawn(process.execPath, [serverFile(), '--port', String(port), ...args], {
    cwd: ROOT,
    env: { ...process.env, DATA_DIR: dataDir, DATABASE_URL: '', HOST: '', PUBLIC_URL: '' },
    stdio: ['ignore', 'pipe', 'pipe'],
  })
  let said = ''
  child.stdout.on('data', (chunk) => {
    said += String(chunk)
  })
  child.stderr.on('data', (chunk) => {
    said += String(chunk)
  })
  const close = async () => {
    await stop(child)
    rmSync(dataDir, { recursive: true, force: true })
  }
  try {
    const link = await until(
      () => /https?:\/\/\S+\/welcome\?token=\S+/.exec(said)?.[0],
      child,
      () => said,
    )
    return { url: `http://127.0.0.1:${port}`, link, output: () => said, close }
  } catch (error) {
    await close()
    throw error
  }
}

/** A browser window that is signed in by the link. */
export async function signIn(context: BrowserContext, link: string): Promise<Page> {
  const page = await context.newPage()
  await page.goto(link)
  await page.getByRole('button', { name: 'Open the book' }).click()
  await page.getByRole('navigation').first().waitFor()
  return page
}

/** Everything the page complained about; must stay empty. */
export function listenForErrors(page: Page): readonly string[] {
  const errors: string[] = []
  page.on('console', (message) => {
    if (message.type() === 'error') errors.push(message.text())
  })
  page.on('pageerror', (error) => errors.push(String(error)))
  return errors
}

async function until(found: () => string | undefined, child: ChildProcess, said: () => string): Promise<string> {
  const deadline = performance.now() + START_MS
  while (performance.now() < deadline) {
    const value = found()
    if (value) return value
    if (child.exitCode !== null) throw new Error(`The server ended with code ${child.exitCode}:\n${said()}`)
    await new Promise((next) => setTimeout(next, 100))
  }
  throw new Error(`The server was not ready in ${START_MS / 1000} s:\n${said()}`)
}

function stop(child: ChildProcess): Promise<void> {
  return new Promise((done) => {
    if (child.exitCode !== null) return done()
    const timer = setTimeout(() => child.kill('SIGKILL'), 10_000)
    child.once('exit', () => {
      clearTimeout(timer)
      done()
    })
    child.kill('SIGTERM')
  })
}

function freePort(): Promise<number> {
  return new Promise((done, fail) => {
    const server = createServer()
    server.once('error', fail)
    server.listen(0, '127.0.0.1', () => {
      const address = server.address()
      server.close(() => (typeof address === 'object' && address ? done(address.port) : fail(new Error('no port'))))
    })
  })
}
