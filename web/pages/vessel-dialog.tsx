import { A } from '@solidjs/router'
import { createSignal, For, Show } from 'solid-js'
import type { VesselWire } from '../../api/wire.ts'
import { post, put } from '../api.ts'
import { Button } from '../parts/button.tsx'
import { Dialog } from '../parts/dialog.tsx'
import { Check, NumberField, Select, TextField } from '../parts/field.tsx'
import { Failed, wrongAt } from '../parts/states.tsx'
import { toast } from '../parts/toast.tsx'
import { useWrite } from '../queries.ts'
import { useSession } from '../session.tsx'
import { optionsFrom, VESSEL_STATE_WORDS, VESSEL_WORDS } from '../words.ts'
import { SiteField } from './site-fields.tsx'

interface Form {
  readonly code: string
  readonly kind: VesselWire['kind']
  readonly volumeL: number | undefined
  readonly jacket: boolean
  readonly insulated: boolean
  readonly pressureBar: number
  readonly row: string
  readonly fills: number | undefined
  readonly site: string
  readonly state: VesselWire['state']
}

const BLANK: Form = {
  code: '',
  kind: 'tank',
  volumeL: undefined,
  jacket: true,
  insulated: false,
  pressureBar: 0,
  row: '',
  fills: undefined,
  site: '',
  state: 'clean',
}

const OF_WOOD: readonly VesselWire['kind'][] = ['barrel', 'puncheon', 'cask']

/** One vessel: what is planned in it, and its facts for those who may change them. */
export function VesselDialog(props: { readonly vessel: VesselWire | undefined; readonly close: () => void }) {
  const session = useSession()
  const format = session.format
  const [form, setForm] = createSignal<Form>(
    props.vessel
      ? {
          ...BLANK,
          ...props.vessel,
          row: props.vessel.row ?? '',
          fills: props.vessel.fills,
          site: props.vessel.site ?? '',
        }
      : BLANK,
  )
  const change = (part: Partial<Form>) => setForm((now) => ({ ...now, ...part }))
  const save = useWrite(() => {
    const { row, fills, site, ...rest } = form()
    const body = {
      code: rest.code.trim(),
      kind: rest.kind,
      volumeL: rest.volumeL,
      jacket: rest.jacket,
      insulated: rest.insulated,
      pressureBar: rest.pressureBar,
      state: rest.state,
      bookings: props.vessel?.bookings ?? [],
      ...(row ? { row } : {}),
      ...(fills === undefined ? {} : { fills }),
      ...(site ? { site } : {}),
    }
    return props.vessel
      ? put(`/api/vessels/${encodeURIComponent(props.vessel.id)}`, { ...body, version: props.vessel.version })
      : post('/api/vessels', body)
  })
  const send = async () => {
    try {
      await save.mutateAsync(undefined)
      toast(`${form().code} is in the book.`)
      props.close()
    } catch {
      // shown in the form
    }
  }
  return (
    <Dialog
      open
      onClose={props.close}
      title={props.vessel ? `${props.vessel.code}, ${VESSEL_WORDS[props.vessel.kind].toLowerCase()}` : 'New vessel'}
    >
      <Show when={props.vessel}>
        {(vessel) => (
          <dl class="pairs">
            <dt>Now</dt>
            <dd>
              {vessel().now
                ? `${vessel().now?.lotCode} ${vessel().now?.lotName}, ${format().volume(vessel().now?.volumeL ?? 0)}, since ${format().moment(vessel().now?.sinceAt ?? '')}`
                : `Empty, ${VESSEL_STATE_WORDS[vessel().state].toLowerCase()}`}
            </dd>
            <Show when={vessel().now?.freeAt}>
              {(freeAt) => (
                <>
                  <dt>Free</dt>
                  <dd>{format().moment(freeAt())}</dd>
                </>
              )}
            </Show>
            <For each={vessel().next}>
              {(next) => (
                <>
                  <dt>Then</dt>
                  <dd>
                    {next.lotCode}, {format().moment(next.fromAt)} to {format().moment(next.toAt)}
                  </dd>
                </>
              )}
            </For>
            <For each={vessel().bookings}>
              {(booking) => (
                <>
                  <dt>Booked</dt>
                  <dd>
                    {booking.why}, {format().moment(booking.fromAt)} to {format().moment(booking.toAt)}
                  </dd>
                </>
              )}
            </For>
          </dl>
        )}
      </Show>
      <Show when={props.vessel}>
        {(vessel) => (
          <p>
            <A href={`/ledger/vessels/${encodeURIComponent(vessel().id)}`}>What is in it and how it got there</A>
          </p>
        )}
      </Show>
      <Show when={session.leads()}>
        <form
          class="stack"
          onSubmit={(event) => {
            event.preventDefault()
            void send()
          }}
        >
          <div class="columns">
            <TextField
              label="Code"
              hint="As painted on it"
              value={form().code}
              onInput={(code) => change({ code })}
              required
              maxLength={16}
              wrong={wrongAt(save.error, '#/code')}
            />
            <Select
              label="Kind"
              value={form().kind}
              options={optionsFrom(VESSEL_WORDS)}
              onInput={(kind) => change({ kind })}
            />
            <NumberField
              label="Holds"
              unit={format().volumeUnit}
              min={1}
              value={
                form().volumeL === undefined
                  ? undefined
                  : Math.round(format().volumeShown(form().volumeL ?? 0) * 10) / 10
              }
              onInput={(shown) => change({ volumeL: shown === undefined ? undefined : format().volumeL(shown) })}
              required
              wrong={wrongAt(save.error, '#/volumeL')}
            />
            <Select
              label="State"
              value={form().state}
              options={optionsFrom(VESSEL_STATE_WORDS)}
              onInput={(state) => change({ state })}
            />
            <SiteField value={form().site} onInput={(site) => change({ site })} wrong={wrongAt(save.error, '#/site')} />
            <Show
              when={OF_WOOD.includes(form().kind)}
              fallback={
                <NumberField
                  label="Holds pressure to"
                  unit="bar"
                  min={0}
                  max={10}
                  value={form().pressureBar}
                  onInput={(pressureBar) => change({ pressureBar: pressureBar ?? 0 })}
                />
              }
            >
              <TextField label="Row" value={form().row} onInput={(row) => change({ row })} maxLength={16} />
              <NumberField
                label="Wines it has held"
                min={0}
                max={60}
                value={form().fills}
                onInput={(fills) => change({ fills })}
              />
            </Show>
          </div>
          <Show when={!OF_WOOD.includes(form().kind)}>
            <div class="row">
              <Check label="Cooling jacket" checked={form().jacket} onInput={(jacket) => change({ jacket })} />
              <Check label="Insulated" checked={form().insulated} onInput={(insulated) => change({ insulated })} />
            </div>
          </Show>
          <Show when={save.isError}>
            <Failed error={save.error} />
          </Show>
          <div class="row end">
            <Button onClick={props.close}>Back</Button>
            <Button
              kind="main"
              type="submit"
              pending={save.isPending}
              disabled={form().code.trim() === '' || form().volumeL === undefined}
            >
              Keep
            </Button>
          </div>
        </form>
      </Show>
    </Dialog>
  )
}
