import { createSignal, For, Show } from 'solid-js'
import type { PersonWire } from '../../api/wire.ts'
import { post, put } from '../api.ts'
import { momentOfWall, msOf, wallOfMoment } from '../format.ts'
import { Button } from '../parts/button.tsx'
import { TextField } from '../parts/field.tsx'
import { Failed, wrongAt } from '../parts/states.tsx'
import { toast, toastError } from '../parts/toast.tsx'
import { useWrite } from '../queries.ts'
import { useSession } from '../session.tsx'

type Absence = PersonWire['absences'][number]

interface Act {
  readonly person: Pick<PersonWire, 'id' | 'version'>
  readonly does: 'add' | 'change' | 'remove'
  /** Which absence is changed or taken back. */
  readonly id?: string
  readonly says?: Readonly<Partial<Omit<Absence, 'id'>>>
}

/** Adds, changes or takes back an absence; the answer is the person as they are now. */
const useAbsenceWrite = () =>
  useWrite(({ person, does, id = '', says }: Act) => {
    const path = `/api/people/${encodeURIComponent(person.id)}/absences`
    const body = { opId: crypto.randomUUID(), version: person.version, ...says }
    if (does === 'add') return post<{ person: PersonWire }>(path, body)
    const one = `${path}/${encodeURIComponent(id)}`
    return does === 'change'
      ? put<{ person: PersonWire }>(one, body)
      : post<{ person: PersonWire }>(`${one}/remove`, body)
  })

/** Ends an absence, or takes it back, and offers to undo that. */
function useAbsenceActs() {
  const write = useAbsenceWrite()
  const undo = (act: Act) => () => void write.mutateAsync(act).then(() => toast('Taken back'), toastError)
  const end = async (person: PersonWire, absence: Absence, nowMs: number) => {
    // Back within the minute: it never was.
    if (nowMs - msOf(absence.fromAt) < 60_000) return takeBack(person, absence)
    const { id, toAt } = absence
    const says = { toAt: new Date(Math.floor(nowMs / 60_000) * 60_000).toISOString() }
    const now = (await write.mutateAsync({ person, does: 'change', id, says })).person
    toast(`${person.name} is back; the work is dealt anew.`, undo({ person: now, does: 'change', id, says: { toAt } }))
  }
  const takeBack = async (person: PersonWire, { id, ...says }: Absence) => {
    const now = (await write.mutateAsync({ person, does: 'remove', id })).person
    toast(`${person.name} is here after all; the work is dealt anew.`, undo({ person: now, does: 'add', says }))
  }
  return { write, end, takeBack, undo }
}

/** One tap for who stands in the door again. */
export function BackNow(props: { readonly person: PersonWire; readonly absence: Absence }) {
  const session = useSession()
  const acts = useAbsenceActs()
  return (
    <Button
      kind="plain"
      pending={acts.write.isPending}
      aria-label={`${props.person.name} is back now`}
      onClick={() => void acts.end(props.person, props.absence, session.nowMs()).catch(toastError)}
    >
      Back now
    </Button>
  )
}

/** When a person is away: to come and under way first, each to end, to change or to take back. */
export function Absences(props: { readonly person: PersonWire }) {
  const session = useSession()
  const sorted = () => [...props.person.absences].sort((a, b) => msOf(a.fromAt) - msOf(b.fromAt))
  const isOver = (absence: Absence) => msOf(absence.toAt) <= session.nowMs()
  const ahead = () => sorted().filter((absence) => !isOver(absence))
  const over = () => sorted().filter(isOver).reverse()
  return (
    <section class="stack">
      <h3>Away</h3>
      <ul class="stack tight" aria-label="Away now and later">
        <For each={ahead()} fallback={<li class="quiet">Not away, and no days away planned.</li>}>
          {(absence) => <OneAbsence person={props.person} absence={absence} />}
        </For>
      </ul>
      <Show when={over().length > 0}>
        <details>
          <summary>Earlier, {over().length}</summary>
          <ul class="stack tight">
            <For each={over()}>{(absence) => <OneAbsence person={props.person} absence={absence} />}</For>
          </ul>
        </details>
      </Show>
      <AbsenceForm person={props.person} />
    </section>
  )
}

function OneAbsence(props: { readonly person: PersonWire; readonly absence: Absence }) {
  const session = useSession()
  const acts = useAbsenceActs()
  const [changes, setChanges] = createSignal(false)
  const words = () => {
    const { fromAt, toAt, reason } = props.absence
    const format = session.format()
    return `${format.moment(fromAt)} to ${format.moment(toAt)}${reason ? `: ${reason}` : ''}`
  }
  const isUnderWay = () => msOf(props.absence.fromAt) <= session.nowMs() && session.nowMs() < msOf(props.absence.toAt)
  const does = (work: Promise<void>) => void work.catch(toastError)
  return (
    <li>
      <div class="row">
        <span>{words()}</span>
        <Show when={isUnderWay()}>
          <Button
            pending={acts.write.isPending}
            onClick={() => does(acts.end(props.person, props.absence, session.nowMs()))}
          >
            Back now
          </Button>
        </Show>
        <Button kind="plain" aria-expanded={changes()} onClick={() => setChanges(!changes())}>
          Change
        </Button>
        <Button
          kind="plain"
          pending={acts.write.isPending}
          onClick={() => does(acts.takeBack(props.person, props.absence))}
        >
          Take back
        </Button>
      </div>
      <Show when={changes()}>
        <AbsenceForm person={props.person} absence={props.absence} done={() => setChanges(false)} />
      </Show>
    </li>
  )
}

/** A new absence, or another span for one that is told already. */
function AbsenceForm(props: { readonly person: PersonWire; readonly absence?: Absence; readonly done?: () => void }) {
  const session = useSession()
  const acts = useAbsenceActs()
  const zone = () => session.cellar().zone
  const [from, setFrom] = createSignal(props.absence ? wallOfMoment(props.absence.fromAt, zone()) : '')
  const [to, setTo] = createSignal(props.absence ? wallOfMoment(props.absence.toAt, zone()) : '')
  const [reason, setReason] = createSignal(props.absence?.reason ?? '')
  const send = async () => {
    const { person, absence } = props
    const says = { fromAt: momentOfWall(from(), zone()), toAt: momentOfWall(to(), zone()), reason: reason() }
    try {
      if (absence) {
        const { id, ...was } = absence
        const now = (await acts.write.mutateAsync({ person, does: 'change', id, says })).person
        toast('Changed; the work is dealt anew.', acts.undo({ person: now, does: 'change', id, says: was }))
      } else {
        // The list of the page may be new before the answer is here.
        const known = new Set(person.absences.map((a) => a.id))
        const now = (await acts.write.mutateAsync({ person, does: 'add', says })).person
        const id = now.absences.find((a) => !known.has(a.id))?.id
        toast(
          `${person.name} is away then; the work is dealt anew.`,
          id === undefined ? undefined : acts.undo({ person: now, does: 'remove', id }),
        )
      }
      props.done?.()
      if (!absence) for (const clear of [setFrom, setTo, setReason]) clear('')
    } catch {
      // shown below
    }
  }
  return (
    <form
      class="row top"
      aria-label={props.absence ? 'Change this absence' : 'Add an absence'}
      onSubmit={(event) => {
        event.preventDefault()
        void send()
      }}
    >
      <TextField label="From" type="datetime-local" value={from()} onInput={setFrom} required />
      <TextField
        label="To"
        type="datetime-local"
        value={to()}
        onInput={setTo}
        required
        wrong={wrongAt(acts.write.error, '#/toAt')}
      />
      <TextField label="Reason" value={reason()} onInput={setReason} maxLength={200} />
      <Button type="submit" pending={acts.write.isPending} disabled={from() === '' || to() === ''}>
        {props.absence ? 'Keep' : 'Add'}
      </Button>
      <Show when={acts.write.isError}>
        <Failed error={acts.write.error} />
      </Show>
    </form>
  )
}
