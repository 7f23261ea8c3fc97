import { A, useLocation, useNavigate } from '@solidjs/router'
import { useQueryClient } from '@tanstack/solid-query'
import { createEffect, For, type JSX, on, onCleanup, Show } from 'solid-js'
import { beginAnew } from './anew.ts'
import { remove } from './api.ts'
import { ground, switchGround } from './ground.ts'
import { createIdleLock, useLock } from './idle.ts'
import { createLive, offline } from './live.ts'
import { askSignOut, counts, keepDays, onSent, retry, startOffline } from './offline/index.ts'
import { Newer } from './offline/newer.tsx'
import { NotSent } from './offline/not-sent.tsx'
import { ProposalBanner } from './pages/proposal-banner.tsx'
import { Button } from './parts/button.tsx'
import { Menu } from './parts/menu.tsx'
import { toastError } from './parts/toast.tsx'
import { useMe } from './queries.ts'
import { useSession } from './session.tsx'
import { say } from './words/words.ts'

interface Place {
  readonly href: string
  readonly word: string
}

const PLACES: readonly Place[] = [
  { href: '/season', word: 'Season' },
  { href: '/calendar', word: 'Calendar' },
  { href: '/today', word: 'Today' },
  { href: '/lots', word: 'Lots' },
  { href: '/vessels', word: 'Vessels' },
  { href: '/ledger', word: 'Ledger' },
  { href: '/crew', word: 'Crew' },
  { href: '/what-if', word: 'What if' },
  { href: '/ask', word: 'Ask' },
  { href: '/protocols', word: 'Protocols' },
  { href: '/lab', word: 'Lab' },
  { href: '/bench', word: 'Bench' },
]
const MORE: readonly Place[] = [
  { href: '/changes', word: 'Changes' },
  { href: '/heat-air', word: 'Heat and air' },
  { href: '/feeds', word: 'Feeds' },
  { href: '/records', word: 'Records' },
  { href: '/exchange', word: 'Import, export' },
  { href: '/cellar', word: 'Cellar' },
]
/** Pages of the floor that no menu names. */
const BEHIND_TAGS: readonly Place[] = [
  { href: '/v/', word: 'Vessel' },
  { href: '/scan', word: 'Scan a tag' },
  { href: '/tags', word: 'Vessel tags' },
]
/** In the person's language: these stand under every page of the floor. */
const ON_PHONE = (): readonly Place[] => [
  { href: '/today', word: say('today') },
  { href: '/lots', word: say('lots') },
  { href: '/vessels', word: say('vessels') },
  { href: '/season', word: say('season') },
]

/** The ledger's margin with its double rule, and the page. On a phone: a strip above and four words below. */
export function Frame(props: { readonly children: JSX.Element }) {
  const location = useLocation()
  const session = useSession()
  const client = useQueryClient()
  const out = useSignOut(true)
  createLive(() => void keepDays(session.nowMs()))
  createIdleLock(useShared())
  createEffect(() => onCleanup(startOffline({ personId: session.person().id, cellarId: session.cellar().id })))
  onCleanup(onSent(() => void client.invalidateQueries()))
  let page: HTMLElement | undefined
  const wide = () => ['/', '/season', '/calendar'].includes(location.pathname)

  // A new page is read from its top, by eye and by screen reader.
  createEffect(
    on(
      () => location.pathname,
      () => {
        window.scrollTo(0, 0)
        page?.focus({ preventScroll: true })
      },
      { defer: true },
    ),
  )
  createEffect(() => {
    const here = [...PLACES, ...MORE, ...BEHIND_TAGS].find((place) => location.pathname.startsWith(place.href))
    document.title = `${here?.word ?? 'Season'} – ${session.cellar().name}`
    document.documentElement.lang = 'en'
  })

  return (
    <>
      {/* A target keeps the router off: it would scroll and leave the focus behind. */}
      <a class="skip" href="#page" target="_self">
        Skip to the page
      </a>
      <div class="frame">
        <Rail />
        <Strip />
        <main class="page" classList={{ wide: wide() }} id="page" tabIndex={-1} ref={page}>
          <Show when={offline()}>
            <p class="banner" role="status">
              No connection. What you see was read before; what you tell of the work stays on this phone until it is
              back.
            </p>
          </Show>
          <NotSent signOut={out} />
          <Newer />
          <ProposalBanner />
          {props.children}
        </main>
        <nav class="foot-nav" aria-label="Most used">
          <For each={ON_PHONE()}>{(place) => <Word place={place} />}</For>
        </nav>
      </div>
    </>
  )
}

function Word(props: { readonly place: Place }) {
  const location = useLocation()
  const here = () =>
    location.pathname.startsWith(props.place.href) || (location.pathname === '/' && props.place.href === '/season')
  return (
    <A href={props.place.href} aria-current={here() ? 'page' : undefined}>
      {props.place.word}
    </A>
  )
}

/** Whether this is a phone that goes from hand to hand. */
function useShared(): () => boolean {
  const me = useMe()
  return () => (me.dataUpdatedAt > 0 && me.data?.device?.mine) || false
}

function Rail() {
  const session = useSession()
  const shared = useShared()
  const lock = useLock()
  const out = useSignOut()
  return (
    <header class="rail">
      <div class="rail-head">
        <strong>{session.cellar().name}</strong>
        <span>
          Vintage {session.cellar().vintage}
          <br />
          {session.format().dayMonth(session.nowMs())}, {session.format().time(session.nowMs())}
        </span>
      </div>
      <nav aria-label="Pages">
        <ul>
          <For each={PLACES}>
            {(place) => (
              <li>
                <Word place={place} />
              </li>
            )}
          </For>
        </ul>
        <ul class="more">
          <For each={MORE}>
            {(place) => (
              <li>
                <Word place={place} />
              </li>
            )}
          </For>
        </ul>
      </nav>
      <div class="rail-foot">
        <Show when={session.cellar().demo}>
          <span class="quiet">An invented cellar</span>
        </Show>
        <A href="/you">{session.person().name}</A>
        <Show when={shared()}>
          <Button kind="plain" onClick={() => void lock()}>
            Lay the phone down
          </Button>
        </Show>
        <Button kind="plain" onClick={switchGround}>
          {ground() === 'day' ? 'Night' : 'Day'} ground
        </Button>
        <Button kind="plain" onClick={out}>
          Sign out
        </Button>
      </div>
    </header>
  )
}

function Strip() {
  const session = useSession()
  const shared = useShared()
  const lock = useLock()
  const navigate = useNavigate()
  const out = useSignOut()
  return (
    <header class="strip">
      <strong>
        {session.cellar().name} <span>{session.format().dayMonth(session.nowMs())}</span>
      </strong>
      <Menu
        label="Menu"
        class="button plain"
        entries={[
          ...[...PLACES, ...MORE].map((place) => ({ label: place.word, run: () => navigate(place.href) })),
          { label: ground() === 'day' ? 'Night ground' : 'Day ground', run: switchGround },
          { label: `${session.person().name}: password, devices`, run: () => navigate('/you') },
          ...(shared() ? [{ label: 'Lay the phone down', run: () => void lock() }] : []),
          { label: `Sign out ${session.person().name}`, run: out },
        ]}
      />
    </header>
  )
}

/** @param sure what waits here has been seen: it stays and is sent when its person signs in again */
function useSignOut(sure = false): () => Promise<void> {
  return async () => {
    if (!sure && counts().waiting > 0) {
      await retry()
      if (counts().waiting > 0) {
        askSignOut(true)
        return
      }
    }
    try {
      await remove('/api/session')
      askSignOut(false)
      await beginAnew()
    } catch (error) {
      toastError(error)
    }
  }
}
