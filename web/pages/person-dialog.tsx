import { createSignal, For, Show } from 'solid-js'
import type { PersonWire } from '../../api/wire.ts'
import { post, put } from '../api.ts'
import { Button } from '../parts/button.tsx'
import { Dialog } from '../parts/dialog.tsx'
import { Check, Select, TextField } from '../parts/field.tsx'
import { Failed, wrongAt } from '../parts/states.tsx'
import { toast } from '../parts/toast.tsx'
import { useWrite } from '../queries.ts'
import { useSession } from '../session.tsx'
import { optionsFrom, ROLE_WORDS } from '../words.ts'
import { LANGUAGES, type Language } from '../zones.ts'
import { Absences } from './absences.tsx'
import { LinkMaker, WaysOut } from './crew-access.tsx'
import { clockOf, minOf, WEEKDAYS } from './hours.ts'

export const SKILLS = [
  { value: 'decides', label: 'Decides' },
  { value: 'lab', label: 'Laboratory' },
  { value: 'additions', label: 'Additions' },
  { value: 'pump', label: 'Pump' },
  { value: 'press', label: 'Press' },
  { value: 'filter', label: 'Filter' },
  { value: 'forklift', label: 'Forklift' },
  { value: 'barrels', label: 'Barrels' },
  { value: 'rounds', label: 'Rounds' },
  { value: 'confined-space', label: 'Confined space' },
] as const

type Shift = PersonWire['shifts'][number]

interface Form {
  readonly name: string
  readonly role: PersonWire['role']
  readonly post: string
  readonly language: Language
  readonly skills: readonly string[]
  readonly shifts: readonly Shift[]
}

const USUAL: Shift = { weekdays: [1, 2, 3, 4, 5], startMin: 420, endMin: 960 }
const BLANK: Form = { name: '', role: 'hand', post: '', language: 'en', skills: ['pump', 'rounds'], shifts: [USUAL] }

const languageOf = (text: string): Language => LANGUAGES.find((entry) => entry.value === text)?.value ?? 'en'

/** One person: post, role, skills, hours; days away; a link to sign in. */
export function PersonDialog(props: { readonly person: PersonWire | undefined; readonly close: () => void }) {
  const session = useSession()
  const [form, setForm] = createSignal<Form>(
    props.person ? { ...BLANK, ...props.person, language: languageOf(props.person.language) } : BLANK,
  )
  const change = (part: Partial<Form>) => setForm((now) => ({ ...now, ...part }))
  const save = useWrite(() => {
    const { name, role, post: does, language, skills, shifts } = form()
    const body = {
      name: name.trim(),
      role,
      post: does,
      language,
      skills,
      shifts,
      fromOn: props.person?.fromOn,
      untilOn: props.person?.untilOn,
    }
    return props.person
      ? put(`/api/people/${encodeURIComponent(props.person.id)}`, { ...body, version: props.person.version })
      : post('/api/people', body)
  })
  const send = async () => {
    try {
      await save.mutateAsync(undefined)
      toast(`${form().name} is in the book; the work is dealt anew.`)
      props.close()
    } catch {
      // shown in the form
    }
  }
  const roles = () =>
    optionsFrom(ROLE_WORDS).filter((option) => option.value !== 'owner' || session.person().role === 'owner')
  return (
    <Dialog open onClose={props.close} broad title={props.person?.name ?? 'New person'}>
      <form
        class="stack"
        onSubmit={(event) => {
          event.preventDefault()
          void send()
        }}
      >
        <div class="columns">
          <TextField
            label="Name"
            value={form().name}
            onInput={(name) => change({ name })}
            required
            maxLength={80}
            wrong={wrongAt(save.error, '#/name')}
          />
          <TextField
            label="Post"
            hint="In your own words: cellar lead"
            value={form().post}
            onInput={(does) => change({ post: does })}
            maxLength={80}
          />
          <Select
            label="May"
            value={form().role}
            options={roles()}
            onInput={(role) => change({ role })}
            wrong={wrongAt(save.error, '#/role')}
          />
          <Select
            label="Reads"
            value={form().language}
            options={LANGUAGES}
            onInput={(language) => change({ language })}
          />
        </div>
        <fieldset class="field">
          <legend>Can do</legend>
          <div class="row">
            <For each={SKILLS}>
              {(skill) => (
                <Check
                  label={skill.label}
                  checked={form().skills.includes(skill.value)}
                  onInput={(on) =>
                    change({
                      skills: on
                        ? [...form().skills, skill.value]
                        : form().skills.filter((entry) => entry !== skill.value),
                    })
                  }
                />
              )}
            </For>
          </div>
        </fieldset>
        <Shifts shifts={form().shifts} set={(shifts) => change({ shifts })} />
        <Show when={save.isError}>
          <Failed error={save.error} />
        </Show>
        <div class="row end">
          <Button onClick={props.close}>Back</Button>
          <Button kind="main" type="submit" pending={save.isPending} disabled={form().name.trim() === ''}>
            Keep
          </Button>
        </div>
      </form>
      <Show when={props.person}>
        {(person) => (
          <>
            <Absences person={person()} />
            <Show when={!person().removedAt}>
              <LinkMaker person={person()} />
            </Show>
            <WaysOut person={person()} close={props.close} />
          </>
        )}
      </Show>
    </Dialog>
  )
}

/** Hours by weekday; the last line that fits a day decides. */
function Shifts(props: { readonly shifts: readonly Shift[]; readonly set: (shifts: readonly Shift[]) => void }) {
  const change = (at: number, part: Partial<Shift>) =>
    props.set(props.shifts.with(at, { ...USUAL, ...props.shifts[at], ...part }))
  return (
    <fieldset class="field">
      <legend>Hours</legend>
      <For each={props.shifts}>
        {(shift, at) => (
          <div class="row">
            <For each={WEEKDAYS}>
              {(name, index) => (
                <Check
                  label={name}
                  checked={shift.weekdays.includes(index() + 1)}
                  onInput={(on) =>
                    change(at(), {
                      weekdays: on
                        ? [...shift.weekdays, index() + 1].sort((a, b) => a - b)
                        : shift.weekdays.filter((day) => day !== index() + 1),
                    })
                  }
                />
              )}
            </For>
            <TextField
              label="From"
              type="time"
              value={clockOf(shift.startMin)}
              onInput={(clock) => change(at(), { startMin: minOf(clock) })}
            />
            <TextField
              label="To"
              type="time"
              value={clockOf(shift.endMin)}
              hint={shift.endMin > 1440 ? 'the next morning' : undefined}
              onInput={(clock) => {
                const end = minOf(clock)
                change(at(), { endMin: end <= shift.startMin ? end + 1440 : end })
              }}
            />
            <Show when={shift.fromOn ?? shift.untilOn}>
              <span class="quiet small">
                {shift.fromOn} to {shift.untilOn}
              </span>
            </Show>
            <Button kind="plain" onClick={() => props.set(props.shifts.filter((_, index) => index !== at()))}>
              Remove
            </Button>
          </div>
        )}
      </For>
      <div>
        <Button kind="plain" onClick={() => props.set([...props.shifts, { ...USUAL, weekdays: [6] }])}>
          Add hours
        </Button>
      </div>
    </fieldset>
  )
}
