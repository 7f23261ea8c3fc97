import { createSignal, For, Show } from 'solid-js'
import { put } from '../api.ts'
import { Button } from '../parts/button.tsx'
import { TextField } from '../parts/field.tsx'
import { Folio, PageHead } from '../parts/page-head.tsx'
import { Failed } from '../parts/states.tsx'
import { toast } from '../parts/toast.tsx'
import { useWrite } from '../queries.ts'
import { useSession } from '../session.tsx'
import { LANGUAGES } from '../zones.ts'
import { CellarFields, type CellarForm } from './cellar-fields.tsx'
import { Machines } from './machines.tsx'
import { SiteFields, type SiteForm, sitesKept, sitesShown } from './site-fields.tsx'

/** What every date and number stands on; the days without work. */
export function CellarPage() {
  const session = useSession()
  return (
    <>
      <PageHead title="Cellar" lede="What every date and number stands on." />
      <Show when={session.leads()} fallback={<Facts />}>
        <Settings />
      </Show>
      <Machines />
    </>
  )
}

function Facts() {
  const session = useSession()
  return (
    <Folio title="Settings" note="An owner or a winemaker changes them.">
      <dl class="pairs">
        <dt>Name</dt>
        <dd>{session.cellar().name}</dd>
        <dt>Vintage</dt>
        <dd>{session.cellar().vintage}</dd>
        <dt>Time zone</dt>
        <dd>{session.cellar().zone}</dd>
      </dl>
    </Folio>
  )
}

interface Holiday {
  readonly on: string
  readonly name: string
}

/** As many weeks as may be planned to the minute. */
const isWeeks = (typed: string): boolean => /^\d{1,2}$/.test(typed) && Number(typed) >= 2 && Number(typed) <= 52

function Settings() {
  const session = useSession()
  const start = session.cellar()
  const [form, setForm] = createSignal<CellarForm>({
    name: start.name,
    hemisphere: start.hemisphere,
    vintage: start.vintage,
    zone: start.zone,
    units: start.units,
    sugarUnit: start.sugarUnit,
    language: LANGUAGES.find((entry) => entry.value === start.language)?.value ?? 'en',
  })
  const [holidays, setHolidays] = createSignal<readonly Holiday[]>(start.holidays.map((day) => ({ ...day })))
  const [weeks, setWeeks] = createSignal(String(start.exactWeeks))
  const [sites, setSites] = createSignal<readonly SiteForm[]>(sitesShown(start.sites))
  const change = (part: Partial<CellarForm>) => setForm((now) => ({ ...now, ...part }))
  const save = useWrite(() =>
    put('/api/cellar', {
      ...form(),
      holidays: holidays().filter((day) => day.on && day.name),
      sites: sitesKept(sites()),
      exactWeeks: Number(weeks()),
      version: session.cellar().version,
    }),
  )
  const send = async () => {
    try {
      await save.mutateAsync(undefined)
      toast('The cellar is changed; the work is planned anew.')
    } catch {
      // shown below
    }
  }
  return (
    <form
      onSubmit={(event) => {
        event.preventDefault()
        void send()
      }}
    >
      <Folio title="Settings">
        <CellarFields form={form()} change={change} error={save.error} />
      </Folio>
      <Folio title="Days without work" note="Only rounds and safety work fall on them.">
        <For each={holidays()}>
          {(day, at) => (
            <div class="row">
              <TextField
                label="Day"
                type="date"
                value={day.on}
                onInput={(on) => setHolidays((now) => now.with(at(), { ...day, on }))}
              />
              <TextField
                label="Name"
                value={day.name}
                maxLength={60}
                onInput={(name) => setHolidays((now) => now.with(at(), { ...day, name }))}
              />
              <Button kind="plain" onClick={() => setHolidays((now) => now.filter((_, index) => index !== at()))}>
                Remove
              </Button>
            </div>
          )}
        </For>
        <div>
          <Button kind="plain" onClick={() => setHolidays((now) => [...now, { on: '', name: '' }])}>
            Add a day
          </Button>
        </div>
      </Folio>
      <Folio
        title="How far ahead to the minute"
        note="Work of so many weeks from today has its hour and its hands; later work has its day, weighed against the hands and machines of that day. Each night one more day is dealt out."
      >
        <TextField
          label="Weeks planned to the minute and by name"
          inputmode="numeric"
          required
          value={weeks()}
          onInput={setWeeks}
          wrong={isWeeks(weeks()) ? undefined : 'A whole number from 2 to 52.'}
        />
      </Folio>
      <SiteFields sites={sites()} onChange={setSites} error={save.error} />
      <div class="bar stack tight">
        <Show when={save.isError}>
          <Failed error={save.error} />
        </Show>
        <div>
          <Button
            kind="main"
            type="submit"
            pending={save.isPending}
            disabled={form().name.trim() === '' || !isWeeks(weeks())}
          >
            Keep the settings
          </Button>
        </div>
      </div>
    </form>
  )
}
