import 'fake-indexeddb/auto'
import { QueryClientProvider } from '@tanstack/solid-query'
import { render } from 'solid-js/web'
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import { SignIn } from '../../web/pages/sign-in.tsx'
import { createQueries, type Me } from '../../web/queries.ts'
import { speak } from '../../web/words/words.ts'

const NOBODY: Me = { person: null, cellar: null, cellars: [], locked: false, device: null, setup: false, demo: false }
const SHARED: Me = { ...NOBODY, device: { mine: true, seats: [{ id: 'kim', name: 'Kim' }] } }

let dispose = () => {}
/** The way in, as a device with these languages shows it to who is known by `me`. */
function door(languages: readonly string[], me: Me): HTMLElement {
  vi.stubGlobal('navigator', { languages, userAgent: '', maxTouchPoints: 0 })
  const client = createQueries()
  client.setQueryData(['me'], me)
  const root = document.createElement('div')
  document.body.replaceChildren(root)
  dispose = render(
    () => (
      <QueryClientProvider client={client}>
        <SignIn />
      </QueryClientProvider>
    ),
    root,
  )
  return root
}

const answer = (status: number, body: unknown) =>
  vi.stubGlobal(
    'fetch',
    async () => new Response(JSON.stringify(body), { status, headers: { 'content-type': 'application/problem+json' } }),
  )

beforeEach(() => speak('en'))
afterEach(() => {
  dispose()
  vi.unstubAllGlobals()
})

describe('the way in', () => {
  it('speaks the first of the device’s languages that it knows, in its title and to a screen reader too', async () => {
    const root = door(['gsw-CH', 'it-IT', 'en'], SHARED)
    await vi.waitFor(() => expect(root.querySelector('h1')?.textContent).toBe('Chi lavora qui?'))
    expect([document.title, document.documentElement.lang]).toEqual(['Chi lavora qui? – Leesway', 'it'])
    expect([...root.querySelectorAll('button')].map((b) => b.textContent)).toEqual(['Kim', 'Un’altra persona: accedi'])
  })

  it('is English where the device speaks nothing it knows', async () => {
    expect(door(['da-DK'], NOBODY).querySelector('h1')?.textContent).toBe('Sign in')
    expect(document.documentElement.lang).toBe('en')
  })

  it('says what was wrong in the same language, and how long to wait', async () => {
    const root = door(['de-AT'], { ...NOBODY, second: { passkey: null } })
    await vi.waitFor(() => expect(root.querySelector('h1')?.textContent).toBe('Zweiter Schritt'))
    const say = async (status: number, problem: object, expected: string) => {
      answer(status, problem)
      const code = root.querySelector('input')
      if (code) code.value = 'abcd'
      code?.dispatchEvent(new InputEvent('input', { bubbles: true }))
      root.querySelector('form')?.dispatchEvent(new SubmitEvent('submit', { bubbles: true, cancelable: true }))
      await vi.waitFor(() => expect(root.querySelector('[role=alert]')?.textContent).toBe(expected))
    }
    const detail = 'Each code works once.'
    await say(
      401,
      { type: 'wrong-second-step', title: 'This code does not work', status: 401, detail },
      'Dieser Passkey oder Code geht nicht',
    )
    const wait = 'Try again in 12 s.'
    await say(
      429,
      { type: 'too-many', title: 'Too many tries', status: 429, detail: wait },
      'Zu viele Versuche. Warten Sie ein wenigNoch einmal in 12 s.',
    )
  })
})
