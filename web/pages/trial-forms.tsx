import { createMemo, createSignal, Match, Show, Switch } from 'solid-js'
import type { TrialChange } from '../../api/protocol/trial/change.ts'
import { post } from '../api.ts'
import { addDays, momentOfWall } from '../format.ts'
import { Button } from '../parts/button.tsx'
import { NumberField, Options, Select, TextField } from '../parts/field.tsx'
import { Failed, wrongAt } from '../parts/states.tsx'
import { useLots, useMachines, usePeople, useVessels, useWrite } from '../queries.ts'
import { useSession } from '../session.tsx'
import type { TrialWire } from '../trial-queries.ts'

export type Asked = 'pick' | 'more-fruit' | 'machine-down' | 'away' | 'stay' | 'temperature' | 'vessel'

const QUESTIONS: readonly { readonly value: Asked; readonly label: string }[] = [
  { value: 'pick', label: 'Press on another day' },
  { value: 'more-fruit', label: 'More fruit' },
  { value: 'machine-down', label: 'A machine is down' },
  { value: 'away', label: 'One person less' },
  { value: 'stay', label: 'Somebody stays longer' },
  { value: 'temperature', label: 'Another temperature' },
  { value: 'vessel', label: 'Another vessel' },
]

const HOLDS = [
  { value: 'settle', label: 'To settle' },
  { value: 'ferment', label: 'To ferment' },
  { value: 'store', label: 'To rest' },
  { value: 'cold', label: 'In the cold' },
]

/** The seven questions, each a line of fields. `ask` opens one of them; `lot`, `person` fill in what is known. */
export function TrialForms(props: {
  readonly made: (trial: TrialWire) => void
  readonly ask?: Asked
  readonly lot?: string
  readonly person?: string
}) {
  const session = useSession()
  const lots = useLots()
  const people = usePeople()
  const machines = useMachines()
  const vessels = useVessels()
  const [question, setQuestion] = createSignal<Asked>(QUESTIONS.find((one) => one.value === props.ask)?.value ?? 'pick')
  const [lot, setLot] = createSignal(props.lot ?? '')
  const [person, setPerson] = createSignal(props.person ?? '')
  const [machine, setMachine] = createSignal('')
  const [vessel, setVessel] = createSignal('')
  const [hold, setHold] = createSignal('settle')
  const [on, setOn] = createSignal(session.dayFromNow(1))
  const [tonnes, setTonnes] = createSignal<number | undefined>(12)
  const [tempC, setTempC] = createSignal<number | undefined>(16)
  const [from, setFrom] = createSignal(`${session.today()}T${session.format().time(session.nowMs()).slice(0, 2)}:00`)
  const [to, setTo] = createSignal(`${addDays(session.today(), 1)}T06:00`)
  const [until, setUntil] = createSignal('19:00')
  const [reason, setReason] = createSignal('')
  const zone = () => session.cellar().zone

  // Asking `data` while nothing is there would suspend the page: look at the time stamp first.
  const allLots = createMemo(() =>
    ((lots.dataUpdatedAt > 0 && lots.data?.lots) || []).filter((one) => one.endedAt === undefined),
  )
  const lotOptions = () => allLots().map((one) => ({ value: one.id, label: `${one.code} ${one.name}` }))
  const personOptions = () =>
    ((people.dataUpdatedAt > 0 && people.data?.people) || [])
      .filter((one) => one.role !== 'viewer')
      .map((one) => ({ value: one.id, label: one.name }))
  const machineOptions = () =>
    ((machines.dataUpdatedAt > 0 && machines.data?.machines) || []).map((one) => ({
      value: one.id,
      label: `${one.code} ${one.name}`,
    }))
  const vesselOptions = () =>
    ((vessels.dataUpdatedAt > 0 && vessels.data?.vessels) || [])
      .filter((one) => one.kind !== 'barrel' && one.kind !== 'puncheon')
      .map((one) => ({ value: one.id, label: `${one.code}, ${session.format().volume(one.volumeL)}` }))
  const first = (chosen: string, options: readonly { readonly value: string }[]) => chosen || (options[0]?.value ?? '')

  const write = useWrite((changes: readonly TrialChange[]) =>
    post<{ trial: TrialWire }>('/api/trials', { opId: crypto.randomUUID(), changes }),
  )
  const change = (): TrialChange => {
    const span = { fromAt: momentOfWall(from(), zone()), toAt: momentOfWall(to(), zone()) }
    const lotId = first(lot(), lotOptions())
    switch (question()) {
      case 'pick':
        return { kind: 'pick', lot: lotId, pickOn: on() }
      case 'more-fruit':
        return { kind: 'more-fruit', like: lotId, on: on(), tonnes: tonnes() ?? 0, code: freeCode(allLots()) }
      case 'machine-down':
        return { kind: 'machine-down', machine: first(machine(), machineOptions()), ...span, why: reason() || 'down' }
      case 'away':
        return { kind: 'away', person: first(person(), personOptions()), ...span, reason: reason() }
      case 'stay': {
        const [hour = 0, minute = 0] = until().split(':').map(Number)
        return {
          kind: 'stay',
          person: first(person(), personOptions()),
          on: on(),
          // The day's last minute ends at 24:00, which a time field calls 00:00.
          untilMin: hour * 60 + minute || 1440,
        }
      }
      case 'temperature': {
        const shown = tempC() ?? 0
        const wantedC = session.format().tempC(shown)
        return { kind: 'choices', lot: lotId, choices: { fermentTempC: wantedC, fermentEndTempC: wantedC } }
      }
      case 'vessel':
        return { kind: 'vessel', lot: lotId, hold: hold(), vessels: [first(vessel(), vesselOptions())] }
    }
  }
  const wrong = (field: string) => wrongAt(write.error, `#/changes/0/${field}`)
  /** Names are read before anything can be chosen. */
  const ready = () => {
    if (question() === 'away' || question() === 'stay') return personOptions().length > 0
    if (question() === 'machine-down') return machineOptions().length > 0
    return lotOptions().length > 0 && (question() !== 'vessel' || vesselOptions().length > 0)
  }
  const submit = async (event: SubmitEvent) => {
    event.preventDefault()
    try {
      props.made((await write.mutateAsync([change()])).trial)
    } catch {
      // Shown below the form.
    }
  }
  const LotField = (words: { readonly label: string }) => (
    <Select label={words.label} value={first(lot(), lotOptions())} options={lotOptions()} onInput={setLot} />
  )
  const Span = () => (
    <>
      <TextField label="From" type="datetime-local" value={from()} onInput={setFrom} wrong={wrong('fromAt')} required />
      <TextField label="To" type="datetime-local" value={to()} onInput={setTo} wrong={wrong('toAt')} required />
    </>
  )

  return (
    <form class="stack" onSubmit={(event) => void submit(event)}>
      <Options label="What if" value={question()} options={QUESTIONS} onInput={setQuestion} />
      <div class="columns moments">
        <Switch>
          <Match when={question() === 'pick'}>
            <LotField label="Lot" />
            <TextField label="Picked and pressed on" type="date" value={on()} onInput={setOn} required />
          </Match>
          <Match when={question() === 'more-fruit'}>
            <NumberField label="Tonnes" value={tonnes()} onInput={setTonnes} min={0.01} max={500} unit="t" required />
            <LotField label="Fruit and choices like" />
            <TextField label="On" type="date" value={on()} onInput={setOn} required />
          </Match>
          <Match when={question() === 'machine-down'}>
            <Select
              label="Machine"
              value={first(machine(), machineOptions())}
              options={machineOptions()}
              onInput={setMachine}
            />
            <Span />
            <TextField label="Why" value={reason()} onInput={setReason} maxLength={120} />
          </Match>
          <Match when={question() === 'away'}>
            <Select
              label="Person"
              value={first(person(), personOptions())}
              options={personOptions()}
              onInput={setPerson}
            />
            <Span />
            <TextField label="Why" value={reason()} onInput={setReason} maxLength={200} />
          </Match>
          <Match when={question() === 'stay'}>
            <Select
              label="Person"
              value={first(person(), personOptions())}
              options={personOptions()}
              onInput={setPerson}
            />
            <TextField label="On" type="date" value={on()} onInput={setOn} wrong={wrong('on')} required />
            <TextField
              label="Until"
              type="time"
              hint="At most 12 h of work, then at least 11 h of rest: common practice."
              value={until()}
              onInput={setUntil}
              wrong={wrong('untilMin')}
              required
            />
          </Match>
          <Match when={question() === 'temperature'}>
            <LotField label="Lot" />
            <NumberField
              label="Ferment at"
              value={tempC()}
              onInput={setTempC}
              min={session.format().tempShown(8)}
              max={session.format().tempShown(30)}
              unit={session.format().tempUnit}
              required
            />
          </Match>
          <Match when={question() === 'vessel'}>
            <LotField label="Lot" />
            <Select label="Stay" value={hold()} options={HOLDS} onInput={setHold} />
            <Select
              label="Vessel"
              value={first(vessel(), vesselOptions())}
              options={vesselOptions()}
              onInput={setVessel}
            />
          </Match>
        </Switch>
      </div>
      <Show when={write.isError}>
        <Failed error={write.error} />
      </Show>
      <div class="row">
        <Button kind="main" type="submit" pending={write.isPending} disabled={!ready()}>
          Try it
        </Button>
        <span class="quiet small">Nothing real changes.</span>
      </div>
    </form>
  )
}

/** `L13` after L12: a code nobody has. */
function freeCode(lots: readonly { readonly code: string }[]): string {
  const taken = new Set(lots.map((one) => one.code.toLowerCase()))
  let n = lots.length + 1
  while (taken.has(`l${String(n).padStart(2, '0')}`)) n += 1
  return `L${String(n).padStart(2, '0')}`
}
