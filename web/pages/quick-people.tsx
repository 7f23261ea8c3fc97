import { createSignal, Index, Show } from 'solid-js'
import type { PersonWire } from '../../api/wire.ts'
import { post } from '../api.ts'
import { Button } from '../parts/button.tsx'
import { Select, TextField } from '../parts/field.tsx'
import { Failed } from '../parts/states.tsx'
import { useWrite } from '../queries.ts'
import { optionsFrom, ROLE_WORDS } from '../words.ts'
import { SKILLS } from './person-dialog.tsx'

interface Row {
  readonly name: string
  readonly role: PersonWire['role']
}

// A first guess so that work can be given out; skills are set per person under Crew.
const SKILLS_OF: Readonly<Partial<Record<PersonWire['role'], readonly string[]>>> = {
  hand: ['pump', 'press', 'rounds', 'additions', 'barrels'],
  lab: ['lab', 'additions', 'rounds'],
}
const SHIFT = { weekdays: [1, 2, 3, 4, 5], startMin: 7 * 60, endMin: 16 * 60 }

/** Names and roles are enough to begin; hours and skills follow under Crew. */
export function QuickPeople(props: { readonly done: () => void }) {
  const [rows, setRows] = createSignal<readonly Row[]>([
    { name: '', role: 'hand' },
    { name: '', role: 'hand' },
  ])
  const change = (at: number, part: Partial<Row>) =>
    setRows((now) => now.with(at, { name: '', role: 'hand', ...now[at], ...part }))
  const named = () => rows().filter((row) => row.name.trim() !== '')
  const save = useWrite(async () => {
    for (const row of named()) {
      await post('/api/people', {
        name: row.name.trim(),
        role: row.role,
        skills: SKILLS_OF[row.role] ?? SKILLS.map((skill) => skill.value),
        shifts: [SHIFT],
      })
    }
  })
  const send = async () => {
    try {
      await save.mutateAsync(undefined)
      props.done()
    } catch {
      // shown below
    }
  }
  return (
    <div class="stack">
      <p>
        Who works here besides you. They start with Monday to Friday, 07:00 to 16:00; change hours and skills under
        Crew.
      </p>
      <Index each={rows()}>
        {(row, at) => (
          <div class="row top">
            <TextField label="Name" value={row().name} onInput={(name) => change(at, { name })} maxLength={80} />
            <Select
              label="Is"
              value={row().role}
              options={optionsFrom(ROLE_WORDS).filter((option) => option.value !== 'owner')}
              onInput={(role) => change(at, { role })}
            />
          </div>
        )}
      </Index>
      <div>
        <Button kind="plain" onClick={() => setRows((now) => [...now, { name: '', role: 'hand' }])}>
          Another
        </Button>
      </div>
      <Show when={save.isError}>
        <Failed error={save.error} />
      </Show>
      <div class="row">
        <Button kind="main" big pending={save.isPending} disabled={named().length === 0} onClick={() => void send()}>
          Keep the people
        </Button>
        <Button big onClick={props.done}>
          Skip
        </Button>
      </div>
    </div>
  )
}
