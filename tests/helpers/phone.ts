/** A browser of its own process and profile, so that it can be killed in the middle and opened again. */
import { type ChildProcess, spawn } from 'node:child_process'
import { existsSync, readFileSync, rmSync } from 'node:fs'
import { join } from 'node:path'
import { type Browser, type BrowserContext, chromium, type Page } from 'playwright-core'
import { chromiumPath } from './browser.ts'

export interface PhoneBrowser {
  readonly context: BrowserContext
  readonly page: Page
  /** At once, as when a battery falls out: no page hears of it. */
  readonly kill: () => Promise<void>
  readonly close: () => Promise<void>
}

const START_MS = 60_000

export async function openPhoneBrowser(profile: string): Promise<PhoneBrowser> {
  const portFile = join(profile, 'DevToolsActivePort')
  rmSync(portFile, { force: true })
  const child = spawn(
    chromiumPath(),
    [
      '--headless=new',
      '--no-sandbox',
      '--disable-gpu',
      '--disable-quic',
      '--no-first-run',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
      '--window-size=390,844',
      '--remote-debugging-port=0',
      `--user-data-dir=${profile}`,
      'about:blank',
    ],
    { stdio: 'ignore', detached: true },
  )
  const browser = await chromium.connectOverCDP(`http://127.0.0.1:${await portOf(portFile, child)}`)
  const context = browser.contexts()[0]!
  const page = context.pages()[0] ?? (await context.newPage())
  await page.setViewportSize({ width: 390, height: 844 })
  return { context, page, kill: () => kill(child), close: () => close(browser, child) }
}

async function portOf(file: string, child: ChildProcess): Promise<string> {
  const deadline = performance.now() + START_MS
  while (performance.now() < deadline) {
    const port = existsSync(file) ? readFileSync(file, 'utf8').split('\n')[0] : ''
    if (port) return port
    if (child.exitCode !== null) throw new Error(`The browser ended with code ${child.exitCode}`)
    await new Promise((next) => setTimeout(next, 50))
  }
  throw new Error('The browser did not open')
}

/** With all that it started: renderers would outlive it for a moment. */
function kill(child: ChildProcess): Promise<void> {
  return new Promise((done) => {
    if (child.exitCode !== null || child.signalCode !== null || child.pid === undefined) return done()
    child.once('exit', () => done())
    process.kill(-child.pid, 'SIGKILL')
  })
}

async function close(browser: Browser, child: ChildProcess): Promise<void> {
  await browser.close().catch(() => {})
  await kill(child)
}
