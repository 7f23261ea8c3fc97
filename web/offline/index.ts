/** The phone's outbox and what it keeps to read, as screens use them. One of each a page; tabs share the storage. */
import { batch, createSignal } from 'solid-js'
import type { TaskWire } from '../../api/wire.ts'
import { get, heardServer, keepAnswers, taskPath } from '../api.ts'
import { askSync } from './install.ts'
import { createKept } from './kept.ts'
import { newId } from './new-id.ts'
import { type Choice, type Kept, withOperations } from './operation.ts'
import { createOutbox, type Outbox, type Told } from './outbox.ts'
import type { Author, Sent } from './send.ts'
import type { Store } from './shelf.ts'
import type { Others, Shown } from './shown.ts'
import { openStore } from './store.ts'

export type { Choice, Kept } from './operation.ts'
export type { Others } from './shown.ts'

const [kept, setKept] = createSignal<readonly Kept[]>([])
const [told, setTold] = createSignal<ReadonlyMap<string, readonly Kept[]>>(new Map())
const [others, setOthers] = createSignal<readonly Others[]>([])
const [contactMs, setContactMs] = createSignal<number>()
const [end, setEnd] = createSignal<Sent['end']>()
const [broken, setBroken] = createSignal<string>()
const [asOfMs, setAsOfMs] = createSignal<number>()
const [asked, setAsked] = createSignal(false)

/** Everything of this person that is not stored yet, what was refused first, then in the order of telling. */
export const pending = (): readonly Kept[] => kept().filter((k) => k.state !== 'stored')

/** Of one task; what was stored stays for a minute. */
export const ofTask = (key: string): readonly Kept[] => kept().filter((k) => k.taskKey === key)

/**
 * A task with what was told of it on this phone since it was read, however long ago that is.
 *
 * @param readMs when the server was asked for it, by this phone's clock
 */
export const standing = (task: TaskWire, readMs: number): TaskWire =>
  withOperations(task, told().get(task.key) ?? [], readMs)

export const counts = () => {
  const of = (...states: readonly Kept['state'][]) => kept().filter((k) => states.includes(k.state)).length
  return { waiting: of('phone', 'sending'), refused: of('refused'), check: of('check'), others: others().length }
}

/** Whatever came last from the server: an answer to what was sent, or something to read. */
const heardMs = () => Math.max(contactMs() ?? 0, asOfMs() ?? 0)

/** Whether the server answered last time, and when it last did. */
export const contact = () => ({
  online: end() === undefined || end() === 'empty' || end() === 'waiting',
  signedOut: end() === 'signed-out',
  /** A page in between answered: a network that wants its own sign-in first. */
  between: end() === 'not-ours',
  ...(heardMs() === 0 ? {} : { lastAt: new Date(heardMs()).toISOString() }),
})

/** Why this phone cannot keep anything: then only what the server took counts. */
/** When what is on screen was read, while it comes from the phone. */
/** Somebody wants to sign out while records wait here. */
/** What other people told on this phone and it still owes them; of everybody, while nobody is signed in. */
export { asked as signOutAsked, asOfMs, broken, others, setAsked as askSignOut }

let author: Author | undefined
let opened: Promise<{ readonly store: Store; readonly outbox: Outbox }> | undefined

const alone = <T>(work: () => Promise<T>): Promise<T> =>
  'locks' in navigator ? (navigator.locks.request('leesway-outbox', work) as Promise<T>) : work()

const tabs = 'BroadcastChannel' in window ? new BroadcastChannel('leesway-floor') : undefined

function open() {
  opened ??= openStore().then((store) => {
    const outbox = createOutbox({
      store,
      fetch: (path, init) => fetch(path, init),
      nowMs: () => Date.now(),
      newId,
      alone,
      author: () => author,
      noted: (shown) => show(shown),
      changed: () => {
        void look()
        tabs?.postMessage('changed')
      },
      taskNow: (key) => get<TaskWire>(taskPath(key)).catch(() => undefined),
    })
    return { store, outbox }
  })
  keepAnswers(
    opened.then(
      ({ store }) => answersOf(store),
      () => undefined,
    ),
  )
  opened.catch((error: unknown) => {
    opened = undefined
    setBroken(String(error))
  })
  return opened
}

function answersOf(store: Store) {
  const view = createKept(store)
  return {
    remember: (path: string, body: unknown, readMs: number) => {
      setAsOfMs(undefined)
      return view.remember(path, body, readMs)
    },
    answer: async (path: string) => {
      const known = await view.answer(path)
      if (!known) return undefined
      setAsOfMs(known.asOfMs)
      return { body: known.body, readMs: known.asOfMs }
    },
  }
}

let looking: Promise<void> | undefined
let lookAgain = false

/** Looks anew at what the phone keeps. Asked while it looks, it looks once more. */
export function look(): Promise<void> {
  lookAgain = looking !== undefined
  looking ??= (async () => {
    do {
      lookAgain = false
      await lookOnce()
    } while (lookAgain)
  })().finally(() => {
    looking = undefined
  })
  return looking
}

async function lookOnce(): Promise<void> {
  show(await (await open()).outbox.shown())
}

const show = (shown: Shown) =>
  batch(() => {
    setKept(shown.kept)
    setTold(shown.told)
    setOthers(shown.others)
    setContactMs(shown.contactMs)
  })

/** Reads what the phone keeps; before the first question to the server, so that a cold start without signal has answers. */
export const ready: Promise<void> = open().then(look, () => {})

/** @throws where the phone cannot keep it: then it is not noted */
export async function record(told: Told): Promise<{ readonly opId: string }> {
  const { outbox } = await open()
  const noted = await outbox.record(told)
  void askSync()
  void retry()
  return noted
}

export async function resolve(opId: string, choice: Choice): Promise<void> {
  await (await open()).outbox.resolve(opId, choice)
  void retry()
}

/** Of people who cannot send any more: kept in words, under whoever is signed in, and sent like anything else. */
export async function keepInWords(...told: Parameters<Outbox['keepInWords']>): Promise<void> {
  await (await open()).outbox.keepInWords(...told)
  void retry()
}

export const handOver = async (): Promise<string> => (await open()).outbox.handOver()
export const takeIn = async (text: string): Promise<number> => (await open()).outbox.takeIn(text)

/** At sign-out, once nothing of the person waits: what was kept to read goes. */
export async function wipe(): Promise<void> {
  const { store } = await open()
  await store.setMeta('author', undefined)
  await store.clearView()
}

const FIRST_MS = 1_000
const LONGEST_MS = 5 * 60_000
let waitMs = FIRST_MS
let timer: ReturnType<typeof setTimeout> | undefined
let sending: Promise<void> | undefined
let more = false

/** Tries to send now. Called again while it sends, it goes round once more. */
export function retry(): Promise<void> {
  if (sending) {
    more = true
    return sending
  }
  sending = round().finally(() => {
    sending = undefined
    if (more) {
      more = false
      void retry()
    }
  })
  return sending
}

const sent = new EventTarget()
/** Called after the server took something. */
export const onSent = (run: () => void): (() => void) => {
  sent.addEventListener('sent', run)
  return () => sent.removeEventListener('sent', run)
}

async function round(): Promise<void> {
  clearTimeout(timer)
  const { outbox } = await open()
  if (!author) return
  const had = counts().waiting
  const how = await outbox.send()
  setEnd(how.end)
  if (how.end === 'empty' || how.end === 'waiting') heardServer()
  await look()
  if (counts().waiting < had) sent.dispatchEvent(new Event('sent'))
  if (how.end === 'empty') {
    waitMs = FIRST_MS
    await outbox.forget()
    return
  }
  // Somewhere between half and the whole of it, so that a cellar's phones do not all come at once.
  const pauseMs = how.end === 'later' && how.afterMs ? how.afterMs : waitMs * (0.5 + Math.random() / 2)
  waitMs = Math.min(LONGEST_MS, waitMs * 2)
  timer = setTimeout(() => void retry(), pauseMs)
}

const LOOK_MS = 30_000

/** While somebody is signed in: sends at every occasion and keeps the coming days. @returns how to stop */
export function startOffline(who: Author): () => void {
  author = who
  const occasion = () => {
    if (document.visibilityState !== 'visible') return
    waitMs = FIRST_MS
    void retry()
  }
  const often = setInterval(() => {
    if (document.visibilityState === 'visible' && counts().waiting > 0) void retry()
  }, LOOK_MS)
  const told = () => void look()
  window.addEventListener('online', occasion)
  document.addEventListener('visibilitychange', occasion)
  tabs?.addEventListener('message', told)
  // For sending while no page is open.
  void open().then(({ store }) => store.setMeta('author', who))
  void open().then(look).then(retry)
  void navigator.storage?.persist?.()
  return () => {
    clearInterval(often)
    clearTimeout(timer)
    window.removeEventListener('online', occasion)
    document.removeEventListener('visibilitychange', occasion)
    tabs?.removeEventListener('message', told)
    author = undefined
  }
}
