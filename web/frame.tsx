import { A, useLocation, useNavigate } from '@solidjs/router'
import { useQueryClient } from '@tanstack/solid-query'
import { createEffect, For, type JSX, on, onCleanup, Show } from 'solid-js'
import type { StorageTrouble } from '../api/wire.ts'
import { beginAnew } from './anew.ts'
import { remove } from './api.ts'
import { ground, switchGround } from './ground.ts'
import { createIdleLock, useLock } from './idle.ts'
import { createLive, offline, planning, trouble } from './live.ts'
import { askSignOut, counts, onSent, retry, startOffline } from './offline/index.ts'
import { keepDays } from './offline/keep-days.ts'
import { Newer } from './offline/newer.tsx'
import { NotSent } from './offline/not-sent.tsx'
import { ProposalBanner } from './pages/proposal-banner.tsx'
import { atRest } from './parts/at-rest.ts'
import { Button } from './parts/button.tsx'
import { Menu } from './parts/menu.tsx'
import { PlanningLine } from './parts/planning-line.tsx'
import { toastError } from './parts/toast.tsx'
import { useMe } from './queries.ts'
import { useSession } from './session.tsx'
import type { Word } from './words/types.ts'
import { say, tongue } from './words/words.ts'

interface Place {
  readonly href: string
  readonly word: Word
}

const PLACES: readonly Place[] = [
  { href: '/season', word: 'season' },
  { href: '/calendar', word: 'pageCalendar' },
  { href: '/today', word: 'today' },
  { href: '/lots', word: 'lots' },
  { href: '/vessels', word: 'vessels' },
  { href: '/ledger', word: 'pageLedger' },
  { href: '/crew', word: 'pageCrew' },
  { href: '/what-if', word: 'pageWhatIf' },
  { href: '/ask', word: 'pageAsk' },
  { href: '/protocols', word: 'pageProtocols' },
  { href: '/lab', word: 'pageLab' },
  { href: '/bench', word: 'pageBench' },
]
const MORE: readonly Place[] = [
  { href: '/changes', word: 'pageChanges' },
  { href: '/heat-air', word: 'pageHeatAir' },
  { href: '/feeds', word: 'pageFeeds' },
  { href: '/records', word: 'pageRecords' },
  { href: '/exchange', word: 'pageExchange' },
  { href: '/cellar', word: 'pageCellar' },
]
/** Pages of the floor that no menu names. */
const BEHIND_TAGS: readonly Place[] = [
  { href: '/v/', word: 'vessel' },
  { href: '/scan', word: 'scanTag' },
  { href: '/tags', word: 'tags' },
]
/** Stand under every page on a phone. */
const ON_PHONE: readonly Place[] = [
  { href: '/today', word: 'today' },
  { href: '/lots', word: 'lots' },
  { href: '/vessels', word: 'vessels' },
  { href: '/season', word: 'season' },
]

const NOT_STORING: Readonly<Record<StorageTrouble, Word>> = {
  'storage-full': 'diskFull',
  'storage-read-only': 'diskReadOnly',
  'database-away': 'databaseAway',
}

/** The ledger's margin with its double rule, and the page. On a phone: a strip above and four words below. */
export function Frame(props: { readonly children: JSX.Element }) {
  const location = useLocation()
  const session = useSession()
  const client = useQueryClient()
  const out = useSignOut(true)
  const wide = () => ['/', '/season', '/calendar'].includes(location.pathname)
  const keep = () => void keepDays(session.nowMs())
  // A signal may go any moment on the floor; at the desk the chart comes first.
  createLive(() => void (wide() ? atRest(keep) : keep()))
  createIdleLock(useShared())
  createEffect(() => onCleanup(startOffline({ personId: session.person().id, cellarId: session.cellar().id })))
  onCleanup(onSent(() => void client.invalidateQueries()))
  let page: HTMLElement | undefined

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
    document.title = `${say(here?.word ?? 'season')} – ${session.cellar().name}`
    document.documentElement.lang = 'en'
  })

  return (
    <>
      {/* A target keeps the router off: it would scroll and leave the focus behind. */}
      <a class="skip" href="#page" target="_self">
        {say('skipToPage')}
      </a>
      <div class="frame">
        <Rail />
        <Strip />
        <main class="page" classList={{ wide: wide() }} id="page" tabIndex={-1} ref={page}>
          <Show when={offline()}>
            <p class="banner" role="status" lang={tongue()}>
              {say('noConnectionNow')}
            </p>
          </Show>
          <Show when={!offline() && trouble()}>
            {(kind) => (
              <p class="banner" role="alert" lang={tongue()}>
                {say(NOT_STORING[kind()])} {say('sentWhenOver')}
              </p>
            )}
          </Show>
          <Show when={planning() !== undefined}>
            <PlanningLine far={planning() ?? 'waits'} />
          </Show>
          <NotSent signOut={out} />
          <Newer />
          <ProposalBanner />
          {props.children}
        </main>
        <nav class="foot-nav" lang={tongue()} aria-label={say('mostUsed')}>
          <For each={ON_PHONE}>{(place) => <PlaceLink place={place} />}</For>
        </nav>
      </div>
    </>
  )
}

function PlaceLink(props: { readonly place: Place }) {
  const location = useLocation()
  const here = () =>
    location.pathname.startsWith(props.place.href) || (location.pathname === '/' && props.place.href === '/season')
  return (
    <A href={props.place.href} aria-current={here() ? 'page' : undefined}>
      {say(props.place.word)}
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
    <header class="rail" lang={tongue()}>
      <div class="rail-head">
        <strong>{session.cellar().name}</strong>
        <span>
          {say('vintage', { year: session.cellar().vintage })}
          <br />
          {session.format().dayMonth(session.nowMs())}, {session.format().time(session.nowMs())}
        </span>
      </div>
      <nav aria-label={say('pages')}>
        <ul>
          <For each={PLACES}>
            {(place) => (
              <li>
                <PlaceLink place={place} />
              </li>
            )}
          </For>
        </ul>
        <ul class="more">
          <For each={MORE}>
            {(place) => (
              <li>
                <PlaceLink place={place} />
              </li>
            )}
          </For>
        </ul>
      </nav>
      <div class="rail-foot">
        <Show when={session.cellar().demo}>
          <span class="quiet">{say('inventedCellar')}</span>
        </Show>
        <A href="/you">{session.person().name}</A>
        <Show when={shared()}>
          <Button kind="plain" onClick={() => void lock()}>
            {say('layDown')}
          </Button>
        </Show>
        <Button kind="plain" onClick={switchGround}>
          {ground() === 'day' ? say('nightGround') : say('dayGround')}
        </Button>
        <Button kind="plain" onClick={out}>
          {say('signOutHere')}
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
    <header class="strip" lang={tongue()}>
      <strong>
        {session.cellar().name} <span>{session.format().dayMonth(session.nowMs())}</span>
      </strong>
      <Menu
        label={say('menu')}
        class="button plain"
        entries={[
          ...[...PLACES, ...MORE].map((place) => ({ label: say(place.word), run: () => navigate(place.href) })),
          { label: ground() === 'day' ? say('nightGround') : say('dayGround'), run: switchGround },
          { label: say('youPage', { name: session.person().name }), run: () => navigate('/you') },
          ...(shared() ? [{ label: say('layDown'), run: () => void lock() }] : []),
          { label: say('signOut', { name: session.person().name }), run: out },
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
      // What waits for anybody stays on the device; else the browser itself is told to remove all of it.
      const { waiting, refused, others } = counts()
      await remove(`/api/session?clear=${waiting + refused + others === 0}`)
      askSignOut(false)
      await beginAnew()
    } catch (error) {
      toastError(error)
    }
  }
}
