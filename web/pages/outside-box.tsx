import { createSignal, For, Show } from 'solid-js'
import { call } from '../api.ts'
import { Button } from '../parts/button.tsx'
import { Options, TextArea, TextField } from '../parts/field.tsx'
import { Failed } from '../parts/states.tsx'
import { toast } from '../parts/toast.tsx'
import { useWrite } from '../queries.ts'
import { useSession } from '../session.tsx'

interface Outside {
  readonly name: string
  readonly written: boolean
  readonly entries: readonly {
    readonly title: string
    readonly fromOn: string
    readonly untilOn: string
    readonly fromAt?: string
    readonly toAt?: string
    readonly known: boolean
  }[]
  readonly left: readonly { readonly title: string; readonly why: string }[]
}

type As = 'holidays' | 'bookings'

/** An outside .ics file: holidays of the cellar, or hours in which a machine or vessel is not to be had. */
export function OutsideBox() {
  const session = useSession()
  const [as, setAs] = createSignal<As>('holidays')
  const [unit, setUnit] = createSignal('')
  const [text, setText] = createSignal('')
  const [seen, setSeen] = createSignal<{ readonly of: string; readonly answer: Outside }>()
  const of = () => `${as()} ${unit()} ${text()}`
  const send = (preview: boolean) => {
    const booked = as() === 'bookings' ? `&unit=${encodeURIComponent(unit().trim())}` : ''
    return call<Outside>('POST', `/api/import/calendar/${as()}?preview=${preview}${booked}`, { calendar: text() })
  }
  const look = useWrite(() => send(true))
  const write = useWrite(() => send(false))
  const fresh = () => (seen()?.of === of() ? seen()?.answer : undefined)
  const news = () => fresh()?.entries.filter((e) => !e.known) ?? []
  const preview = async () => {
    try {
      const asked = of()
      setSeen({ of: asked, answer: await look.mutateAsync(undefined) })
    } catch {
      // shown below
    }
  }
  const store = async () => {
    try {
      const count = news().length
      await write.mutateAsync(undefined)
      toast(`${count} entries written; the plan goes round them.`)
      setText('')
    } catch {
      // shown below
    }
  }
  const when = (e: Outside['entries'][number]) =>
    e.fromAt && e.toAt
      ? `${session.format().moment(e.fromAt)} to ${session.format().moment(e.toAt)}`
      : e.fromOn === e.untilOn
        ? session.format().day(e.fromOn)
        : `${session.format().day(e.fromOn)} to ${session.format().day(e.untilOn)}`
  return (
    <div class="stack">
      <Options
        label="As"
        value={as()}
        options={[
          { value: 'holidays', label: 'Days without work' },
          { value: 'bookings', label: 'Bookings of a machine or vessel' },
        ]}
        onInput={setAs}
      />
      <Show when={as() === 'bookings'}>
        <TextField
          class="short"
          label="Machine or vessel"
          hint="Its code: SF, PA, T10"
          value={unit()}
          onInput={setUnit}
        />
      </Show>
      <TextArea label="Text of the .ics file" rows={4} value={text()} onInput={setText} />
      <div class="row">
        <label class="button">
          <input
            class="visually-hidden"
            type="file"
            accept=".ics,text/calendar"
            onChange={(event) => void event.currentTarget.files?.[0]?.text().then(setText)}
          />
          Choose a file
        </label>
        <Button
          kind="main"
          pending={look.isPending}
          disabled={text().trim() === '' || (as() === 'bookings' && unit().trim() === '')}
          onClick={() => void preview()}
        >
          Look at it
        </Button>
      </div>
      <Show when={look.isError && !fresh() ? look.error : write.isError ? write.error : undefined}>
        {(error) => <Failed error={error()} />}
      </Show>
      <Show when={fresh()}>
        {(answer) => (
          <>
            <p role="status">
              {news().length} new of {answer().entries.length}. Nothing is written yet.
            </p>
            <table class="ledger">
              <tbody>
                <For each={answer().entries}>
                  {(e) => (
                    <tr>
                      <th scope="row">{e.title}</th>
                      <td>{when(e)}</td>
                      <td>{e.known ? 'here already' : ''}</td>
                    </tr>
                  )}
                </For>
                <For each={answer().left}>
                  {(e) => (
                    <tr>
                      <th scope="row">{e.title}</th>
                      <td colspan={2} class="late-text">
                        left out: {e.why}
                      </td>
                    </tr>
                  )}
                </For>
              </tbody>
            </table>
            <div>
              <Button kind="main" pending={write.isPending} disabled={news().length === 0} onClick={() => void store()}>
                Write {news().length}
              </Button>
            </div>
          </>
        )}
      </Show>
    </div>
  )
}
