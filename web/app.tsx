import { Navigate, Route, Router, type RouteSectionProps } from '@solidjs/router'
import { QueryClientProvider } from '@tanstack/solid-query'
import { createEffect, ErrorBoundary, lazy, Match, Suspense, Switch } from 'solid-js'
import { Frame } from './frame.tsx'
import { followGround } from './ground.ts'
import { Failed, Loading } from './parts/states.tsx'
import { Toasts } from './parts/toast.tsx'
import { createQueries, useCellar, useMe } from './queries.ts'
import { SessionProvider } from './session.tsx'
import { speakAsDevice, tongue } from './words/words.ts'

const page = (load: () => Promise<Record<string, unknown>>, name: string) =>
  lazy(async () => ({ default: (await load())[name] as () => import('solid-js').JSX.Element }))

const Season = page(() => import('./pages/timeline.tsx'), 'SeasonPage')
const Calendar = page(() => import('./pages/calendar.tsx'), 'CalendarPage')
const Today = page(() => import('./pages/today.tsx'), 'Today')
const TaskScreen = page(() => import('./floor/task-screen.tsx'), 'TaskScreen')
const TroublePage = page(() => import('./floor/trouble-page.tsx'), 'TroublePage')
const SheetPage = page(() => import('./floor/sheet-page.tsx'), 'SheetPage')
const ScanPage = page(() => import('./floor/scan-page.tsx'), 'ScanPage')
const VesselPage = page(() => import('./floor/vessel-page.tsx'), 'VesselPage')
const TagsPage = page(() => import('./floor/tags-page.tsx'), 'TagsPage')
const Lots = page(() => import('./pages/lots.tsx'), 'Lots')
const NewLot = page(() => import('./pages/new-lot.tsx'), 'NewLot')
const Lot = page(() => import('./pages/lot.tsx'), 'Lot')
const TaskDoor = page(() => import('./pages/task-door.tsx'), 'TaskDoor')
const Vessels = page(() => import('./pages/vessels.tsx'), 'Vessels')
const Ledger = page(() => import('./pages/ledger.tsx'), 'Ledger')
const LedgerEntry = page(() => import('./pages/ledger-entry.tsx'), 'LedgerEntry')
const LedgerMovements = page(() => import('./pages/ledger-movements.tsx'), 'LedgerMovements')
const LedgerTrace = page(() => import('./pages/ledger-trace.tsx'), 'LedgerTrace')
const LedgerRegisters = page(() => import('./pages/ledger-registers.tsx'), 'LedgerRegisters')
const LedgerCount = page(() => import('./pages/ledger-count.tsx'), 'LedgerCount')
const LedgerOpening = page(() => import('./pages/ledger-opening.tsx'), 'LedgerOpening')
const LedgerChecks = page(() => import('./pages/ledger-checks.tsx'), 'LedgerChecks')
const LedgerVessel = page(() => import('./pages/ledger-vessel.tsx'), 'LedgerVessel')
const LedgerLot = page(() => import('./pages/ledger-lot.tsx'), 'LedgerLot')
const Crew = page(() => import('./pages/crew.tsx'), 'Crew')
const WhatIf = page(() => import('./pages/what-if.tsx'), 'WhatIf')
const Trial = page(() => import('./pages/trial.tsx'), 'TrialPage')
const Changes = page(() => import('./pages/proposal.tsx'), 'ProposalPage')
const AskPage = page(() => import('./pages/ask.tsx'), 'AskPage')
const Protocols = page(() => import('./pages/protocols.tsx'), 'Protocols')
const Bench = page(() => import('./pages/bench.tsx'), 'Bench')
const Lab = page(() => import('./pages/lab.tsx'), 'Lab')
const HeatAir = page(() => import('./pages/heat-air.tsx'), 'HeatAir')
const Feeds = page(() => import('./pages/feeds.tsx'), 'Feeds')
const Exchange = page(() => import('./pages/exchange.tsx'), 'Exchange')
const Records = page(() => import('./pages/records.tsx'), 'Records')
const CellarPage = page(() => import('./pages/cellar.tsx'), 'CellarPage')
const Welcome = page(() => import('./pages/welcome.tsx'), 'Welcome')
const SignIn = page(() => import('./pages/sign-in.tsx'), 'SignIn')
const Start = page(() => import('./pages/start.tsx'), 'Start')
const You = page(() => import('./pages/you.tsx'), 'You')
const NotFound = page(() => import('./pages/not-found.tsx'), 'NotFound')

/** Pages whose files are fetched while it is still asked who is there. */
const AT_ONCE = [
  { at: /^\/(season)?$/, page: Season },
  { at: /^\/today$/, page: Today },
  { at: /^\/today(\/[^/]+){3}$/, page: TaskScreen },
] as const

export function App() {
  followGround()
  void AT_ONCE.find(({ at }) => at.test(location.pathname))?.page.preload()
  const client = createQueries()
  return (
    <QueryClientProvider client={client}>
      <Router root={Door}>
        <Route path="/welcome" component={Welcome} />
        <Route path="/start" component={Start} />
        <Route path="/" component={Season} />
        <Route path="/season" component={Season} />
        <Route path="/calendar" component={Calendar} />
        <Route path="/today" component={Today} />
        <Route path="/today/problem" component={TroublePage} />
        <Route path="/today/sheet" component={SheetPage} />
        <Route path="/today/:lot/:step/:count" component={TaskScreen} />
        <Route path="/scan" component={ScanPage} />
        <Route path="/v/:code" component={VesselPage} />
        <Route path="/tags" component={TagsPage} />
        <Route path="/lots" component={Lots} />
        <Route path="/lots/new" component={NewLot} />
        <Route path="/lots/:id" component={Lot} />
        <Route path="/tasks/:lot/:step/:count" component={TaskDoor} />
        <Route path="/vessels" component={Vessels} />
        <Route path="/ledger" component={Ledger} />
        <Route path="/ledger/entry" component={LedgerEntry} />
        <Route path="/ledger/movements" component={LedgerMovements} />
        <Route path="/ledger/trace" component={LedgerTrace} />
        <Route path="/ledger/registers" component={LedgerRegisters} />
        <Route path="/ledger/count" component={LedgerCount} />
        <Route path="/ledger/opening" component={LedgerOpening} />
        <Route path="/ledger/checks" component={LedgerChecks} />
        <Route path="/ledger/vessels/:id" component={LedgerVessel} />
        <Route path="/ledger/lots/:id" component={LedgerLot} />
        <Route path="/crew" component={Crew} />
        <Route path="/what-if" component={WhatIf} />
        <Route path="/what-if/:id" component={Trial} />
        <Route path="/changes" component={Changes} />
        <Route path="/ask" component={AskPage} />
        <Route path="/protocols" component={Protocols} />
        <Route path="/bench" component={Bench} />
        <Route path="/bench/:name" component={Bench} />
        <Route path="/lab" component={Lab} />
        <Route path="/heat-air" component={HeatAir} />
        <Route path="/feeds" component={Feeds} />
        <Route path="/exchange" component={Exchange} />
        <Route path="/records" component={Records} />
        <Route path="/cellar" component={CellarPage} />
        <Route path="/you" component={You} />
        <Route path="*" component={NotFound} />
      </Router>
      <Toasts />
    </QueryClientProvider>
  )
}

/** Open doors first: the one-time link and the first start need no session; everything else does. */
function Door(props: RouteSectionProps) {
  const open = () => props.location.pathname === '/welcome' || props.location.pathname === '/start'
  return (
    <ErrorBoundary fallback={(error, reset) => <Failed error={error} again={reset} />}>
      <Suspense fallback={<Loading />}>
        <Switch fallback={<Inside {...props} />}>
          <Match when={open()}>{props.children}</Match>
        </Switch>
      </Suspense>
    </ErrorBoundary>
  )
}

function Inside(props: RouteSectionProps) {
  const me = useMe()
  createEffect(() => {
    if (me.isError && !me.dataUpdatedAt) speakAsDevice()
  })
  return (
    <Switch fallback={<Loading />}>
      <Match when={me.isError && !me.dataUpdatedAt}>
        <div class="alone" lang={tongue()}>
          <Failed error={me.error} again={() => void me.refetch()} />
        </div>
      </Match>
      <Match when={me.dataUpdatedAt > 0 && me.data?.setup}>
        {/* Its four steps go on after the first has made the cellar, so it needs an address of its own. */}
        <Navigate href="/start" />
      </Match>
      <Match when={me.dataUpdatedAt > 0 && !me.data?.person}>
        <SignIn />
      </Match>
      <Match when={me.dataUpdatedAt > 0 && me.data?.person}>
        {(person) => <InCellar {...props} person={person()} />}
      </Match>
    </Switch>
  )
}

function InCellar(props: RouteSectionProps & { readonly person: import('./session.tsx').Person }) {
  const cellar = useCellar()
  return (
    <Switch fallback={<Loading />}>
      <Match when={cellar.isError && !cellar.dataUpdatedAt}>
        <div class="alone">
          <Failed error={cellar.error} again={() => void cellar.refetch()} />
        </div>
      </Match>
      <Match when={cellar.dataUpdatedAt > 0 && cellar.data}>
        {(row) => (
          <SessionProvider person={props.person} cellar={row()}>
            <Frame>
              <ErrorBoundary fallback={(error, reset) => <Failed error={error} again={reset} />}>
                <Suspense fallback={<Loading />}>{props.children}</Suspense>
              </ErrorBoundary>
            </Frame>
          </SessionProvider>
        )}
      </Match>
    </Switch>
  )
}
