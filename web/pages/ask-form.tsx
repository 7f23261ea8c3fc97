import { createSignal, Show } from 'solid-js'
import type { TaskWire } from '../../api/wire.ts'
import { momentOfWall, startOfDay } from '../format.ts'
import { Button } from '../parts/button.tsx'
import { NumberField, Select, TextField } from '../parts/field.tsx'
import { useLots, usePeople, useTasks, useVessels } from '../queries.ts'
import { useSession } from '../session.tsx'

export type Fields = Readonly<Record<string, string>>

const PURPOSES = [
  { value: 'settling', label: 'Settling' },
  { value: 'fermenting', label: 'Fermenting' },
  { value: 'storing', label: 'Storing' },
]

/** One field for each thing the question needs. */
export function NeedsForm(props: {
  readonly needs: readonly string[]
  /** Which tasks are worth asking about. */
  readonly tasks: 'moved' | 'open' | 'broken'
  readonly given: Fields
  readonly ask: (fields: Fields) => void
}) {
  const session = useSession()
  const lots = useLots()
  const people = usePeople()
  const vessels = useVessels()
  const names = () => props.needs.map((need) => need.replace('?', ''))
  const optional = (name: string) => props.needs.includes(`${name}?`)
  const wants = (name: string) => names().includes(name)
  const tasks = useTasks(() => ({
    from: startOfDay(session.dayFromNow(-2), session.cellar().zone),
    to: startOfDay(session.dayFromNow(60), session.cellar().zone),
  }))
  const [typed, setTyped] = createSignal<Fields>({})
  const lotOptions = () =>
    ((lots.dataUpdatedAt > 0 && lots.data?.lots) || []).map((one) => ({
      value: one.id,
      label: `${one.code} ${one.name}`,
    }))
  const personOptions = () => [
    ...(optional('person') ? [{ value: '', label: 'Anybody' }] : []),
    ...((people.dataUpdatedAt > 0 && people.data?.people) || []).map((one) => ({ value: one.id, label: one.name })),
  ]
  const rowOptions = () => {
    const rows = ((vessels.dataUpdatedAt > 0 && vessels.data?.vessels) || []).flatMap((v) => v.row ?? [])
    return [...new Set(rows)].map((row) => ({ value: row, label: `Row ${row}` }))
  }
  const worthAsking = (task: TaskWire): boolean => {
    if (props.tasks === 'moved') return task.change !== undefined
    if (props.tasks === 'broken') return task.broken.some((one) => one.strength === 'hard')
    return task.state === 'planned' || task.state === 'due' || task.state === 'blocked'
  }
  const taskOptions = () => [
    ...(optional('task') ? [{ value: '', label: 'The first that breaks' }] : []),
    ...((tasks.dataUpdatedAt > 0 && tasks.data?.tasks) || [])
      .filter((task) => worthAsking(task) || task.key === props.given.task)
      .slice(0, 400)
      .map((task) => ({
        value: task.key,
        label: `${task.lotCode} ${task.name}, ${session.format().dayMonth(task.startAt)}`,
      })),
  ]
  const usual = (name: string): string => {
    switch (name) {
      case 'on':
        return optional('on') ? session.today() : session.dayFromNow(1)
      case 'volumeL':
        return '3000'
      case 'purpose':
        return 'settling'
      case 'byC':
        return '6'
      case 'inH':
        return '12'
      case 'tonnes':
        return '12'
      case 'days':
        return '7'
      case 'lot':
        return lotOptions()[0]?.value ?? ''
      case 'person':
        return personOptions()[0]?.value ?? ''
      case 'row':
        return rowOptions()[0]?.value ?? ''
      case 'task':
        return taskOptions()[0]?.value ?? ''
      default:
        return ''
    }
  }
  const fieldOf = (name: string) => typed()[name] ?? (props.given[name] || usual(name))
  const put = (name: string) => (value: string) => setTyped((now) => ({ ...now, [name]: value }))
  const putNumber = (name: string) => (value: number | undefined) => put(name)(value === undefined ? '' : String(value))
  const sent = (): Fields =>
    Object.fromEntries(
      names()
        .map((name) => [name, fieldOf(name)] as const)
        .filter(([, value]) => value !== '')
        .map(([name, value]) => [name, toWire(name, value)]),
    )
  /** The lists to choose from may not have been read yet. */
  const lacks = () => names().some((name) => !optional(name) && fieldOf(name) === '' && name !== 'at')
  const toWire = (name: string, value: string) => {
    if (name === 'at') return momentOfWall(value, session.cellar().zone)
    return name === 'volumeL' ? String(session.format().volumeL(Number(value))) : value
  }
  return (
    <form
      class="stack"
      onSubmit={(event) => {
        event.preventDefault()
        props.ask(sent())
      }}
    >
      <div class="columns moments">
        <Show when={wants('lot')}>
          <Select
            label={wants('tonnes') ? 'Fruit and choices like' : 'Lot'}
            value={fieldOf('lot')}
            options={lotOptions()}
            onInput={put('lot')}
          />
        </Show>
        <Show when={wants('person')}>
          <Select label="Person" value={fieldOf('person')} options={personOptions()} onInput={put('person')} />
        </Show>
        <Show when={wants('task')}>
          <Select
            label={props.tasks === 'moved' ? 'Task that moved' : 'Task'}
            value={fieldOf('task')}
            options={taskOptions()}
            onInput={put('task')}
            hint={taskOptions().length === 0 ? 'No task has moved.' : undefined}
          />
        </Show>
        <Show when={wants('row')}>
          <Select label="Barrels" value={fieldOf('row')} options={rowOptions()} onInput={put('row')} />
        </Show>
        <Show when={wants('tonnes')}>
          <NumberField
            label="Tonnes"
            value={Number(fieldOf('tonnes'))}
            onInput={putNumber('tonnes')}
            min={0.01}
            max={500}
            unit="t"
          />
        </Show>
        <Show when={wants('volumeL')}>
          <NumberField
            label="Volume"
            value={Number(fieldOf('volumeL'))}
            onInput={putNumber('volumeL')}
            min={1}
            unit={session.format().volumeUnit}
          />
        </Show>
        <Show when={wants('purpose')}>
          <Select label="For" value={fieldOf('purpose')} options={PURPOSES} onInput={put('purpose')} />
        </Show>
        <Show when={wants('byC')}>
          <NumberField
            label="Colder by"
            value={Number(fieldOf('byC'))}
            onInput={putNumber('byC')}
            min={0.1}
            max={60}
            unit="°C"
          />
        </Show>
        <Show when={wants('inH')}>
          <NumberField
            label="Within"
            value={Number(fieldOf('inH'))}
            onInput={putNumber('inH')}
            min={0.1}
            max={240}
            unit="h"
          />
        </Show>
        <Show when={wants('at')}>
          <TextField label="From (now, if empty)" type="datetime-local" value={fieldOf('at')} onInput={put('at')} />
        </Show>
        <Show when={wants('on')}>
          <TextField label="On" type="date" value={fieldOf('on')} onInput={put('on')} />
        </Show>
        <Show when={wants('days')}>
          <NumberField label="Days" value={Number(fieldOf('days'))} onInput={putNumber('days')} min={1} max={31} />
        </Show>
      </div>
      <div class="row">
        <Button kind="main" type="submit" disabled={lacks()}>
          Ask
        </Button>
      </div>
    </form>
  )
}
