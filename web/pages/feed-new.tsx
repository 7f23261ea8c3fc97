import { createSignal, Match, Show, Switch } from 'solid-js'
import type { TaskWire } from '../../api/wire.ts'
import { post } from '../api.ts'
import { Button } from '../parts/button.tsx'
import { Check, Options, Select, TextField } from '../parts/field.tsx'
import { FAMILY_WORDS } from '../parts/peg-mark.tsx'
import { Failed } from '../parts/states.tsx'
import { type FeedWire, useLots, usePeople, useWrite } from '../queries.ts'
import { useSession } from '../session.tsx'
import { optionsFrom } from '../words.ts'
import { ALARM_MIN, ALARM_WORDS, type Alarms, FEED_LANGUAGE_WORDS, type FeedLanguage } from './feed-words.ts'

export interface FeedMade {
  readonly feed: FeedWire
  readonly url: string
  readonly webcal: string
}

/** What a new feed shows, and for whom. */
export function NewFeed(props: { readonly made: (made: FeedMade) => void }) {
  const session = useSession()
  const people = usePeople()
  const lots = useLots()
  const [kind, setKind] = createSignal<FeedWire['kind']>('person')
  const [person, setPerson] = createSignal(session.person().id)
  const [lot, setLot] = createSignal('')
  const [family, setFamily] = createSignal<TaskWire['family']>('check')
  const [vessels, setVessels] = createSignal('')
  const [language, setLanguage] = createSignal<FeedLanguage | 'mine'>('mine')
  const [alarms, setAlarms] = createSignal<Alarms>('usual')
  const [showDoses, setShowDoses] = createSignal(false)
  const subject = () => {
    const subjects = { person: person(), lot: lot(), family: family(), vessels: vessels().trim(), cellar: undefined }
    return subjects[kind()]
  }
  const make = useWrite(() => {
    const chosen = language()
    return post<FeedMade>('/api/feeds', {
      opId: crypto.randomUUID(),
      kind: kind(),
      subject: subject(),
      showDoses: showDoses(),
      alarmMin: ALARM_MIN[alarms()],
      ...(chosen === 'mine' ? {} : { language: chosen }),
    })
  })
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
          { value: 'vessels', label: 'Some vessels' },
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
        <Match when={kind() === 'vessels'}>
          <TextField
            class="short"
            label="Vessels"
            hint="Codes or barrel rows with commas between: T01, T02, A"
            value={vessels()}
            onInput={setVessels}
          />
        </Match>
        <Match when={kind() === 'family'}>
          <Select class="short" label="Kind" value={family()} options={optionsFrom(FAMILY_WORDS)} onInput={setFamily} />
        </Match>
      </Switch>
      <div class="row top">
        <Select
          label="Language"
          value={language()}
          options={[{ value: 'mine', label: 'Mine' }, ...optionsFrom(FEED_LANGUAGE_WORDS)]}
          onInput={setLanguage}
        />
        <Select label="Alarms" value={alarms()} options={optionsFrom(ALARM_WORDS)} onInput={setAlarms} />
      </div>
      <Check label="Show doses in the calendar" checked={showDoses()} onInput={setShowDoses} />
      <Show when={make.isError}>
        <Failed error={make.error} />
      </Show>
      <div>
        <Button
          kind="main"
          type="submit"
          pending={make.isPending}
          disabled={(kind() === 'lot' && lot() === '') || (kind() === 'vessels' && vessels().trim() === '')}
        >
          Make the feed
        </Button>
      </div>
    </form>
  )
}
