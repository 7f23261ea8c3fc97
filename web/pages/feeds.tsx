import { createSignal, For, Show } from 'solid-js'
import { post, remove } from '../api.ts'
import { Button } from '../parts/button.tsx'
import { Folio, PageHead } from '../parts/page-head.tsx'
import { Ask, Empty, Failed } from '../parts/states.tsx'
import { toast } from '../parts/toast.tsx'
import { type FeedWire, useFeeds, useWrite } from '../queries.ts'
import { useSession } from '../session.tsx'
import { FeedAddress } from './feed-address.tsx'
import { FeedHelp } from './feed-help.tsx'
import { type FeedMade, NewFeed } from './feed-new.tsx'
import { FeedSettings } from './feed-settings.tsx'

/** Work in a phone calendar: a private address for a person, a lot, some vessels, a kind of work or the whole cellar. */
export function Feeds() {
  const session = useSession()
  const feeds = useFeeds()
  const [made, setMade] = createSignal<FeedMade>()
  const [open, setOpen] = createSignal<FeedWire>()
  const drop = useWrite((id: string) => remove(`/api/feeds/${encodeURIComponent(id)}`))
  const anew = useWrite((id: string) => post<FeedMade>(`/api/feeds/${encodeURIComponent(id)}/renew`))
  const revoke = async (feed: FeedWire) => {
    try {
      await drop.mutateAsync(feed.id)
      if (made()?.feed.id === feed.id) setMade(undefined)
      toast(`The address of “${feed.name}” is dead.`)
    } catch {
      // shown below the list
    }
  }
  const renew = async (feed: FeedWire) => {
    try {
      setMade(await anew.mutateAsync(feed.id))
      toast(`“${feed.name}” has a new address; the old one is dead.`)
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
        <Show when={made()}>{(one) => <FeedAddress made={one()} />}</Show>
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
                      <span class="visually-hidden">What can be done</span>
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
                          <div class="row">
                            <Button kind="plain" onClick={() => setOpen(feed)}>
                              Change
                            </Button>
                            <Button kind="plain" pending={anew.isPending} onClick={() => void renew(feed)}>
                              New address
                            </Button>
                            <Button kind="danger" pending={drop.isPending} onClick={() => void revoke(feed)}>
                              Revoke
                            </Button>
                          </div>
                        </td>
                      </tr>
                    )}
                  </For>
                </tbody>
              </table>
            </Show>
          )}
        </Ask>
        <Show when={drop.error ?? anew.error}>{(error) => <Failed error={error()} />}</Show>
      </Folio>
      <Show when={feeds.data?.zoneData}>
        {(data) => <FeedHelp edition={data().edition} warning={data().warning} />}
      </Show>
      <Show when={open()} keyed>
        {(feed) => <FeedSettings feed={feed} onClose={() => setOpen(undefined)} />}
      </Show>
    </>
  )
}
