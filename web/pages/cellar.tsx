import { createSignal, For, Show } from 'solid-js'
import { put } from '../api.ts'
import { ground, switchGround } from '../ground.ts'
import { Button } from '../parts/button.tsx'
import { TextField } from '../parts/field.tsx'
import { Folio, PageHead } from '../parts/page-head.tsx'
import { Failed, wrongAt } from '../parts/states.tsx'
import { toast } from '../parts/toast.tsx'
import { useWrite } from '../queries.ts'
import { useSession } from '../session.tsx'
import { LANGUAGES } from '../zones.ts'
import { CellarFields, type CellarForm } from './cellar-fields.tsx'
import { Machines } from './machines.tsx'

/** What every date and number stands on; the days without work; your own password. */
export function CellarPage() {
  const session = useSession()
  return (
    <>
      <PageHead title="Cellar" lede="What every date and number stands on." />
      <Show when={session.leads()} fallback={<Facts />}>
        <Settings />
      </Show>
      <Machines />
      <Folio title="Password" note={`Of ${session.person().name}. Needed to sign in without a link.`}>
        <PasswordForm />
      </Folio>
      <Folio title="Ground" note="Follows the device until you tap; kept on this device.">
        <div>
          <Button onClick={switchGround}>{ground() === 'day' ? 'Night ground' : 'Day ground'}</Button>
        </div>
      </Folio>
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
  const change = (part: Partial<CellarForm>) => setForm((now) => ({ ...now, ...part }))
  const save = useWrite(() =>
    put('/api/cellar', {
      ...form(),
      holidays: holidays().filter((day) => day.on && day.name),
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
      <div class="bar stack tight">
        <Show when={save.isError}>
          <Failed error={save.error} />
        </Show>
        <div>
          <Button kind="main" type="submit" pending={save.isPending} disabled={form().name.trim() === ''}>
            Keep the settings
          </Button>
        </div>
      </div>
    </form>
  )
}

function PasswordForm() {
  const session = useSession()
  const [current, setCurrent] = createSignal('')
  const [password, setPassword] = createSignal('')
  const save = useWrite(() =>
    put('/api/me/password', { next: password(), ...(session.person().hasPassword ? { current: current() } : {}) }),
  )
  const send = async () => {
    try {
      await save.mutateAsync(undefined)
      setCurrent('')
      setPassword('')
      toast('Your password is set.')
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
      <input type="text" autocomplete="username" value={session.person().name} readOnly hidden />
      <div class="columns">
        <Show when={session.person().hasPassword}>
          <TextField
            label="Password now"
            type="password"
            autocomplete="current-password"
            value={current()}
            onInput={setCurrent}
            required
            wrong={wrongAt(save.error, '#/current')}
          />
        </Show>
        <TextField
          label="New password"
          type="password"
          hint="A long sentence of your own is best."
          autocomplete="new-password"
          value={password()}
          onInput={setPassword}
          required
          wrong={wrongAt(save.error, '#/next')}
        />
      </div>
      <Show when={save.isError}>
        <Failed error={save.error} />
      </Show>
      <div>
        <Button type="submit" pending={save.isPending} disabled={password() === ''}>
          Set the password
        </Button>
      </div>
    </form>
  )
}
