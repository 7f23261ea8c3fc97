import { createSignal, Show } from 'solid-js'
import { put } from '../api.ts'
import { Button } from '../parts/button.tsx'
import { Dialog } from '../parts/dialog.tsx'
import { Check, Select, TextField } from '../parts/field.tsx'
import { Failed } from '../parts/states.tsx'
import { toast } from '../parts/toast.tsx'
import { type FeedWire, useWrite } from '../queries.ts'
import { optionsFrom } from '../words.ts'
import { ALARM_MIN, ALARM_WORDS, alarmsOf, FEED_LANGUAGE_WORDS, type FeedLanguage } from './feed-words.ts'

/** Name, language, doses and alarms of a feed; its address stays. */
export function FeedSettings(props: { readonly feed: FeedWire; readonly onClose: () => void }) {
  const [name, setName] = createSignal(props.feed.name)
  const [language, setLanguage] = createSignal(props.feed.language as FeedLanguage)
  const [alarms, setAlarms] = createSignal(alarmsOf(props.feed.alarmMin))
  const [showDoses, setShowDoses] = createSignal(props.feed.showDoses)
  const save = useWrite(() =>
    put<FeedWire>(`/api/feeds/${encodeURIComponent(props.feed.id)}`, {
      name: name().trim(),
      language: language(),
      showDoses: showDoses(),
      alarmMin: ALARM_MIN[alarms()],
    }),
  )
  const send = async () => {
    try {
      await save.mutateAsync(undefined)
      toast(`“${name().trim()}” is changed; calendars follow at their next look.`)
      props.onClose()
    } catch {
      // shown below
    }
  }
  return (
    <Dialog open onClose={props.onClose} title={props.feed.name} description="The address stays as it is.">
      <form
        class="stack"
        onSubmit={(event) => {
          event.preventDefault()
          void send()
        }}
      >
        <TextField label="Name in the calendar" value={name()} maxLength={80} required onInput={setName} />
        <Select label="Language" value={language()} options={optionsFrom(FEED_LANGUAGE_WORDS)} onInput={setLanguage} />
        <Select label="Alarms" value={alarms()} options={optionsFrom(ALARM_WORDS)} onInput={setAlarms} />
        <Check label="Show doses in the calendar" checked={showDoses()} onInput={setShowDoses} />
        <Show when={save.isError}>
          <Failed error={save.error} />
        </Show>
        <div>
          <Button kind="main" type="submit" pending={save.isPending} disabled={name().trim() === ''}>
            Save
          </Button>
        </div>
      </form>
    </Dialog>
  )
}
