import type { BrowserContext, Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { listenForErrors, openBrowser, type RunningApp, signIn, startApp } from '../helpers/browser.ts'

type Browser = Awaited<ReturnType<typeof openBrowser>>

const PASSWORD = 'thirty casks behind the door'

let app: RunningApp
let browser: Browser
/** Passkeys are bound to a name, so the same server by its name instead of its number. */
let home: string

beforeAll(async () => {
  app = await startApp(['--demo', '--at', '2027-03-22'])
  home = app.url.replace('127.0.0.1', 'localhost')
  browser = await openBrowser()
})

afterAll(async () => {
  await browser?.close()
  await app?.close()
})

/** A device that makes passkeys and is always touched at once, by the browser's own tool for tests. */
async function withAuthenticator(context: BrowserContext, page: Page): Promise<() => Promise<void>> {
  const tool = await context.newCDPSession(page)
  await tool.send('WebAuthn.enable')
  const { authenticatorId } = await tool.send('WebAuthn.addVirtualAuthenticator', {
    options: {
      protocol: 'ctap2',
      transport: 'internal',
      hasResidentKey: true,
      hasUserVerification: true,
      isUserVerified: true,
      automaticPresenceSimulation: true,
    },
  })
  return async () => void (await tool.send('WebAuthn.removeVirtualAuthenticator', { authenticatorId }))
}

const field = (page: Page, label: string) => page.getByLabel(label, { exact: true })

async function enter(page: Page, name: string): Promise<void> {
  await page.goto(`${home}/`)
  await field(page, 'Name').fill(name)
  await field(page, 'Password').fill(PASSWORD)
  await page.getByRole('button', { name: 'Sign in' }).click()
}

const signOut = async (page: Page) => {
  await page.getByRole('button', { name: /^Sign out$/ }).click()
  await field(page, 'Password').waitFor()
}

describe('a passkey', () => {
  let context: BrowserContext
  let page: Page
  let name = ''
  let codes: readonly string[] = []
  let unplug: () => Promise<void>
  let errors: readonly string[]

  beforeAll(async () => {
    context = await browser.newContext({ viewport: { width: 1440, height: 900 } })
    page = await signIn(context, app.link.replace('127.0.0.1', 'localhost'))
    errors = listenForErrors(page)
    unplug = await withAuthenticator(context, page)
  })

  afterAll(() => context.close())

  it('stands behind the password once it is added', async () => {
    await page.goto(`${home}/you`)
    await field(page, 'New password').fill(PASSWORD)
    await page.getByRole('button', { name: 'Set the password' }).click()
    name = (await page.locator('p:has-text("You sign in as") b').textContent()) ?? ''
    await field(page, 'Your password, once more').fill(PASSWORD)
    await field(page, 'Name of the new passkey').fill('Bench machine')
    await page.getByRole('button', { name: 'Add a passkey' }).click()
    await page.getByText('Bench machine', { exact: false }).first().waitFor()
    await signOut(page)
    await enter(page, name)
    await page.getByRole('heading', { name: 'Second step' }).waitFor()
    expect((await context.request.get(`${home}/api/lots`)).status()).toBe(401)
    await page.getByRole('button', { name: 'Use the passkey' }).click()
    await page.getByRole('navigation').first().waitFor()
    expect((await context.request.get(`${home}/api/lots`)).status()).toBe(200)
  })

  it('has eight codes on paper, shown once, each good once in its place', async () => {
    await page.goto(`${home}/you`)
    await field(page, 'Your password, once more').fill(PASSWORD)
    await page.getByRole('button', { name: 'New recovery codes' }).click()
    const sheet = page.getByRole('status', { name: 'Recovery codes' })
    await sheet.waitFor()
    codes = await sheet.locator('li').allTextContents()
    expect(codes).toHaveLength(8)
    expect(codes.every((code) => /^([A-Z2-9]{4}-){5}[A-Z2-9]{4}$/.test(code))).toBe(true)
    await page.reload()
    await page.getByText('8 recovery codes are left').waitFor()
    expect(await page.content()).not.toContain(codes[0])

    for (const [code, good] of [
      [codes[0]!.toLowerCase().replaceAll('-', ' '), true],
      [codes[0]!, false],
      [codes[1]!, true],
    ] as const) {
      await signOut(page)
      await enter(page, name)
      await field(page, 'Or a recovery code').fill(code)
      await page.getByRole('button', { name: 'Use the code' }).click()
      if (good) await page.getByRole('navigation').first().waitFor()
      else {
        await page.getByText('This code does not work').waitFor()
        await field(page, 'Or a recovery code').fill(codes[2]!)
        await page.getByRole('button', { name: 'Use the code' }).click()
        await page.getByRole('navigation').first().waitFor()
      }
    }
  })

  it('of another device opens nothing, and one that is taken away neither', async () => {
    await unplug()
    await withAuthenticator(context, page)
    await signOut(page)
    await enter(page, name)
    await page.getByRole('button', { name: 'Use the passkey' }).click()
    await page.getByRole('alert').waitFor()
    expect((await context.request.get(`${home}/api/lots`)).status()).toBe(401)
    await field(page, 'Or a recovery code').fill(codes[4]!)
    await page.getByRole('button', { name: 'Use the code' }).click()
    await page.getByRole('navigation').first().waitFor()
    await page.goto(`${home}/you`)
    await field(page, 'Your password, once more').fill(PASSWORD)
    await page.getByRole('button', { name: 'Take away' }).click()
    await page.getByText('No passkey yet').waitFor()
    await signOut(page)
    await enter(page, name)
    await page.getByRole('navigation').first().waitFor()
    // What the server refuses is written to the console by the browser itself.
    expect(errors.filter((error) => !/status of (401|409)/.test(error))).toEqual([])
  })
})

describe('a shared phone', () => {
  it('is laid down, taken by another with two taps, and fits a phone’s width', async () => {
    const context = await browser.newContext({ viewport: { width: 390, height: 844 } })
    const lead = await browser.newContext()
    const office = await lead.newPage()
    await enter(office, await nameOf())
    await office.getByRole('navigation').first().waitFor()
    const linkFor = async (id: string) => {
      const answer = await lead.request.post(`${home}/api/people/${id}/link`, {
        data: {},
        headers: { 'sec-fetch-site': 'same-origin' },
      })
      return ((await answer.json()) as { link: string }).link
    }
    const phone = await signIn(context, await linkFor('kim'))
    const stay = async (pin: string) => {
      await phone.goto(`${home}/you`)
      await phone
        .getByLabel(/number/i)
        .first()
        .fill(pin)
      await phone.getByRole('button', { name: 'Stay on this phone' }).click()
      await phone.getByRole('button', { name: 'Lay the phone down' }).first().waitFor()
    }
    await stay('4711')
    expect(await phone.evaluate('document.documentElement.scrollWidth')).toBeLessThanOrEqual(390)
    await phone.goto(await linkFor('sam'))
    await phone.getByRole('button', { name: 'Open the book' }).click()
    await phone.getByRole('banner').first().waitFor()
    await stay('0815')
    await phone.getByRole('button', { name: 'Lay the phone down' }).first().click()
    await phone.getByRole('heading', { name: 'Who works here?' }).waitFor()
    expect(await phone.evaluate('document.documentElement.scrollWidth')).toBeLessThanOrEqual(390)
    await phone.getByRole('button', { name: 'Kim' }).click()
    await phone.getByLabel('Number of Kim').fill('4711')
    await phone.getByRole('button', { name: 'Take the phone' }).click()
    await phone.getByRole('banner').first().waitFor()
    const me = (await (await context.request.get(`${home}/api/me`)).json()) as { person: { id: string } }
    expect(me.person.id).toBe('kim')
    await context.close()
    await lead.close()
  })

  /** Of the owner of the invented cellar, who set a password above. */
  async function nameOf(): Promise<string> {
    const link = /Sign in as ([^,]+),/.exec(app.output())
    return link![1]!
  }
})
