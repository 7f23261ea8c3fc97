import { useNavigate } from '@solidjs/router'
import { useQueryClient } from '@tanstack/solid-query'
import { createSignal, Match, Show, Switch } from 'solid-js'
import { Temporal } from '../../api/time.ts'
import type { CellarWire } from '../../api/wire.ts'
import { get, post } from '../api.ts'
import { Button } from '../parts/button.tsx'
import { TextField } from '../parts/field.tsx'
import { Failed, Loading, wrongAt } from '../parts/states.tsx'
import { type Me, useMe, useWrite } from '../queries.ts'
import { guessHemisphere, ownZone } from '../zones.ts'
import { Alone } from './alone.tsx'
import { CellarFields, type CellarForm } from './cellar-fields.tsx'
import { QuickPeople } from './quick-people.tsx'
import { QuickVessels } from './quick-vessels.tsx'

type Step = 'cellar' | 'vessels' | 'people' | 'lot'

const STEPS: readonly { readonly step: Step; readonly word: string }[] = [
  { step: 'cellar', word: 'Cellar' },
  { step: 'vessels', word: 'Vessels' },
  { step: 'people', word: 'People' },
  { step: 'lot', word: 'First lot' },
]

/** An empty database becomes a cellar in four steps; each is kept as it is made, so that leaving loses nothing. */
export function Start() {
  const me = useMe()
  const navigate = useNavigate()
  const [step, setStep] = createSignal<Step>('cellar')
  const signedIn = () => me.dataUpdatedAt > 0 && me.data?.person
  const here = (): Step => (signedIn() && step() === 'cellar' ? 'vessels' : step())
  return (
    <Alone english title="A new book" lede="Four short steps. Everything can be changed later.">
      <ol class="steps">
        {STEPS.map((entry) => (
          <li aria-current={entry.step === here() ? 'step' : undefined}>{entry.word}</li>
        ))}
      </ol>
      <Switch fallback={<Loading />}>
        <Match when={me.dataUpdatedAt > 0 && !signedIn() && !me.data?.setup}>
          <p class="note">
            There is a cellar here already, or this browser has not opened the link of the first start. Open the link
            that the server printed.
          </p>
        </Match>
        <Match when={me.dataUpdatedAt > 0 && here() === 'cellar'}>
          <MakeCellar done={() => setStep('vessels')} />
        </Match>
        <Match when={here() === 'vessels'}>
          <QuickVessels done={() => setStep('people')} />
        </Match>
        <Match when={here() === 'people'}>
          <QuickPeople done={() => setStep('lot')} />
        </Match>
        <Match when={here() === 'lot'}>
          <p>The book is ready. Enter the fruit of the first lot and its style, and its dated work appears at once.</p>
          <div class="row">
            <Button kind="main" big onClick={() => navigate('/lots/new')}>
              Enter the first lot
            </Button>
            <Button big onClick={() => navigate('/season')}>
              Later
            </Button>
          </div>
        </Match>
      </Switch>
    </Alone>
  )
}

function MakeCellar(props: { readonly done: () => void }) {
  const client = useQueryClient()
  const zone = ownZone()
  const [form, setForm] = createSignal<CellarForm>({
    name: '',
    hemisphere: guessHemisphere(zone),
    vintage: Temporal.Now.plainDateISO(zone).year,
    zone,
    units: zone.startsWith('America/') && guessHemisphere(zone) === 'north' ? 'us' : 'metric',
    sugarUnit: 'brix',
    language: 'en',
  })
  const [owner, setOwner] = createSignal('')
  const change = (part: Partial<CellarForm>) => setForm((now) => ({ ...now, ...part }))
  const make = useWrite(() => post<CellarWire>('/api/cellar', { ...form(), owner: owner() }))
  const send = async () => {
    try {
      await make.mutateAsync(undefined)
      client.setQueryData(['me'], await get<Me>('/api/me'))
      props.done()
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
      <CellarFields form={form()} change={change} error={make.error} />
      <TextField
        label="Your name"
        hint="You become the owner."
        value={owner()}
        onInput={setOwner}
        required
        maxLength={80}
        wrong={wrongAt(make.error, '#/owner')}
      />
      <Show when={make.isError}>
        <Failed error={make.error} />
      </Show>
      <div>
        <Button
          kind="main"
          big
          type="submit"
          pending={make.isPending}
          disabled={form().name.trim() === '' || owner().trim() === ''}
        >
          Make the cellar
        </Button>
      </div>
    </form>
  )
}
