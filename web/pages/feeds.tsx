import { createSignal, For, Match, Show, Switch } from 'solid-js'
import type { TaskWire } from '../../api/wire.ts'
import { post, remove } from '../api.ts'
import { Button } from '../parts/button.tsx'
import { Check, Options, Select } from '../parts/field.tsx'
import { Folio, PageHead } from '../parts/page-head.tsx'
import { FAMILY_WORDS } from '../parts/peg-mark.tsx'
import { QrCode } from '../parts/qr-code.tsx'
import { Ask, Empty, Failed } from '../parts/states.tsx'
import { toast } from '../parts/toast.tsx'
import { type FeedWire, useFeeds, useLots, usePeople, useWrite } from '../queries.ts'
import { useSession } from '../session.tsx'
import { optionsFrom } from '../words.ts'

type Kind = 'person' | 'lot' | 'cellar' | 'family'

interface Made {
  readonly feed: FeedWire
  readonly url: string
  readonly webcal: string
}

/** Work in a phone calendar: a private address for a person, a lot, a kind of work or the whole cellar. */
export function Feeds() {
  const session = useSession()
  const feeds = useFeeds()
  const [made, setMade] = createSignal<Made>()
  const drop = useWrite((id: string) => remove(`/api/feeds/${encodeURIComponent(id)}`))
  const revoke = async (feed: FeedWire) => {
    try {
      await drop.mutateAsync(feed.id)
      if (made()?.feed.id === feed.id) setMade(undefined)
      toast(`The address of “${feed.name}” is dead.`)
    } catch {
      // shown below the list
    }
  }
  return (
    <>
      <PageHead
        title="Feeds"
        lede="The plan in a phone’s own calendar. It follows every change by itself; ticking stays here."
      />
      <Folio title="New feed" note="Its address is a key: whoever has it can read, nobody can write.">
        <NewFeed made={setMade} />
        <Show when={made()}>
          {(one) => (
            <div class="note caution row top" role="status">
              <QrCode text={one().webcal} label={`QR code of the feed ${one().feed.name}`} />
              <div class="stack tight grow">
                <h3>{one().feed.name}</h3>
                <p>
                  Point a phone’s camera at the code, or open this on the phone. The address is shown <b>only now</b>.
                </p>
                <p class="code" data-feed-url>
                  {one().url}
                </p>
                <div class="row">
                  <a class="button main" href={one().webcal}>
                    Subscribe on this device
                  </a>
                  <Button
                    onClick={() => void navigator.clipboard?.writeText(one().url).then(() => toast('Address copied.'))}
                  >
                    Copy the address
                  </Button>
                </div>
              </div>
            </div>
          )}
        </Show>
      </Folio>
      <Folio title="Kept feeds" note={session.leads() ? 'All of the cellar.' : 'Your own.'}>
        <Ask query={feeds} what="the feeds">
          {(answer) => (
            <Show
              when={answer().feeds.length > 0}
              fallback={
                <Empty title="No feed yet">
                  <p>Make one above, for yourself to begin with.</p>
                </Empty>
              }
            >
              <table class="ledger folds">
                <thead>
                  <tr>
                    <th>Feed</th>
                    <th>Made</th>
                    <th>Last read</th>
                    <th>
                      <span class="visually-hidden">Revoke</span>
                    </th>
                  </tr>
                </thead>
                <tbody>
                  <For each={answer().feeds}>
                    {(feed) => (
                      <tr>
                        <th scope="row">{feed.name}</th>
                        <td>{session.format().moment(feed.createdAt)}</td>
                        <td>
                          {feed.lastFetchAt ? session.format().moment(feed.lastFetchAt) : 'never'}
                          <Show when={feed.lastClient}>
                            <div class="small quiet">{feed.lastClient}</div>
                          </Show>
                        </td>
                        <td>
                          <Button kind="danger" pending={drop.isPending} onClick={() => void revoke(feed)}>
                            Revoke
                          </Button>
                        </td>
                      </tr>
                    )}
                  </For>
                </tbody>
              </table>
            </Show>
          )}
        </Ask>
        <Show when={drop.isError}>
          <Failed error={drop.error} />
        </Show>
      </Folio>
    </>
  )
}

function NewFeed(props: { readonly made: (made: Made) => void }) {
  const session = useSession()
  const people = usePeople()
  const lots = useLots()
  const [kind, setKind] = createSignal<Kind>('person')
  const [person, setPerson] = createSignal(session.person().id)
  const [lot, setLot] = createSignal('')
  const [family, setFamily] = createSignal<TaskWire['family']>('check')
  const [showDoses, setShowDoses] = createSignal(false)
  const subject = () =>
    kind() === 'person' ? person() : kind() === 'lot' ? lot() : kind() === 'family' ? family() : undefined
  const make = useWrite(() =>
    post<Made>('/api/feeds', { opId: crypto.randomUUID(), kind: kind(), subject: subject(), showDoses: showDoses() }),
  )
  const send = async () => {
    try {
      props.made(await make.mutateAsync(undefined))
    } catch {
      // shown below
    }
  }
  return (
    <form
      class="stack"
      onSubmit={(event) => {
        event.preventDefault()
        void send()
      }}
    >
      <Options
        label="Work of"
        value={kind()}
        options={[
          { value: 'person', label: 'One person' },
          { value: 'lot', label: 'One lot' },
          { value: 'family', label: 'One kind of work' },
          { value: 'cellar', label: 'The whole cellar' },
        ]}
        onInput={setKind}
      />
      <Switch>
        <Match when={kind() === 'person'}>
          <Select
            class="short"
            label="Person"
            value={person()}
            options={((people.dataUpdatedAt > 0 && people.data?.people) || []).map((entry) => ({
              value: entry.id,
              label: entry.name,
            }))}
            onInput={setPerson}
          />
        </Match>
        <Match when={kind() === 'lot'}>
          <Select
            class="short"
            label="Lot"
            value={lot()}
            options={[
              { value: '', label: 'Choose' },
              ...((lots.dataUpdatedAt > 0 && lots.data?.lots) || []).map((entry) => ({
                value: entry.id,
                label: `${entry.code} ${entry.name}`,
              })),
            ]}
            onInput={setLot}
          />
        </Match>
        <Match when={kind() === 'family'}>
          <Select class="short" label="Kind" value={family()} options={optionsFrom(FAMILY_WORDS)} onInput={setFamily} />
        </Match>
      </Switch>
      <Check label="Show doses in the calendar" checked={showDoses()} onInput={setShowDoses} />
      <Show when={make.isError}>
        <Failed error={make.error} />
      </Show>
      <div>
        <Button kind="main" type="submit" pending={make.isPending} disabled={kind() === 'lot' && lot() === ''}>
          Make the feed
        </Button>
      </div>
    </form>
  )
}
