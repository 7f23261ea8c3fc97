import { createMemo, For, Show } from 'solid-js'
import type { ContentWire, StockWire } from '../../api/wire.ts'
import { Check, NumberField, Options, Select, TextField } from '../parts/field.tsx'
import { wrongAt } from '../parts/states.tsx'
import { useLots, usePeople } from '../queries.ts'
import { useSession } from '../session.tsx'
import { contentOf, type Entry, type EntryKind, hasSource, hasTarget, isMove, KIND_WORDS, wrongOf } from './entry.ts'
import { differenceOf } from './tolerance.ts'
import { sayCause, sayContent, sayLitres } from './words.ts'

// The server's own lists; it refuses what is on neither.
const MOVES = ['rack', 'fill', 'level', 'transfer', 'return'] as const
const LOSSES = [
  'lees',
  'spill',
  'foam-over',
  'leak',
  'evaporation',
  'filter',
  'pump and hose',
  'gauge',
  'other',
] as const
const GAINS = ['gauge', 'not written down', 'other'] as const
const KINDS = Object.keys(KIND_WORDS) as EntryKind[]

const optionsOf = (causes: readonly string[]) => causes.map((value) => ({ value, label: sayCause(value) }))

/** The fields of a movement. Litres are typed in the cellar's unit and kept in litres. */
export function EntryFields(props: {
  readonly entry: Entry
  readonly change: (part: Partial<Entry>) => void
  readonly stock: StockWire | undefined
  readonly error: unknown
  /** Set once somebody tried to send: what is missing is then said. */
  readonly tried: boolean
  /** Before the field names, where the movement is a part of a larger body. */
  readonly at?: string
  /** The levels are not those of the movement's own time: every vessel is on offer, none is judged by them. */
  readonly isAnotherTime?: boolean
}) {
  const session = useSession()
  const format = session.format
  const lots = useLots()
  const say = (volumeL: number) => sayLitres(format(), volumeL)
  const entry = () => props.entry
  const judged = () => (props.isAnotherTime ? undefined : props.stock)
  const wrong = createMemo(() => wrongOf(entry(), judged(), say))
  // What is missing is no fault while somebody is still typing.
  const said = (field: keyof ReturnType<typeof wrong>) => {
    const served = wrongAt(props.error, `#${props.at ?? ''}/${field}`)
    const empty = field === 'volumeL' ? entry().volumeL === undefined : entry()[field] === ''
    return served ?? (props.tried || !empty ? wrong()[field] : undefined)
  }
  const blank = { value: '', label: 'Choose …' }
  const choices = (fits: (content: ContentWire) => boolean) => [
    blank,
    ...(props.stock?.contents ?? [])
      .filter((content) => props.isAnotherTime || fits(content))
      .map((content) => ({
        value: content.vessel.code,
        label: props.isAnotherTime ? content.vessel.code : sayContent(format(), content),
      })),
  ]
  const full = createMemo(() => choices((content) => content.volumeL > 0))
  const targets = createMemo(() =>
    choices((content) => content.state !== 'out-of-service' && content.vessel.code !== entry().from),
  )
  const litres = (value: number | undefined) =>
    value === undefined ? undefined : Math.round(format().volumeShown(value) * 1000) / 1000
  const stored = (shown: number | undefined) => (shown === undefined ? undefined : format().volumeL(shown))
  const from = () => contentOf(judged(), entry().from)
  return (
    <>
      <Options
        label="What happened"
        value={entry().kind}
        options={KINDS.map((value) => ({ value, label: KIND_WORDS[value] }))}
        onInput={(kind) => props.change({ kind })}
      />
      <div class="columns">
        <Show when={hasSource(entry().kind)}>
          <Select
            label="From"
            value={entry().from}
            options={full()}
            onInput={(code) => props.change({ from: code })}
            wrong={said('from')}
          />
        </Show>
        <Show when={hasTarget(entry().kind)}>
          <Select
            label={hasSource(entry().kind) ? 'To' : 'Into'}
            value={entry().to}
            options={targets()}
            onInput={(code) => props.change({ to: code })}
            wrong={said('to')}
          />
        </Show>
        <Show when={entry().kind === 'receive'}>
          <Select
            label="Lot"
            value={entry().lot}
            options={[
              blank,
              ...((lots.dataUpdatedAt > 0 && lots.data?.lots) || [])
                .filter((lot) => !lot.endedAt)
                .map((lot) => ({ value: lot.code, label: `${lot.code} ${lot.name}` })),
            ]}
            onInput={(lot) => props.change({ lot })}
            wrong={said('lot')}
          />
        </Show>
        <NumberField
          label={isMove(entry().kind) ? 'Arrived' : 'How much'}
          unit={format().volumeUnit}
          hint={
            hasSource(entry().kind)
              ? from()
                ? `Empty: all that is there, ${say(from()?.volumeL ?? 0)}`
                : 'Empty: all that is there'
              : undefined
          }
          value={litres(entry().volumeL)}
          onInput={(shown) => props.change({ volumeL: stored(shown) })}
          wrong={said('volumeL')}
        />
        <Show when={isMove(entry().kind)}>
          <NumberField
            label="Lost on the way"
            unit={format().volumeUnit}
            hint="Left, and did not arrive"
            min={0}
            value={litres(entry().lossL)}
            onInput={(shown) => props.change({ lossL: stored(shown) })}
            wrong={wrongAt(props.error, `#${props.at ?? ''}/lossL`)}
          />
        </Show>
        <Show when={entry().kind === 'loss' || (isMove(entry().kind) && entry().lossL)}>
          <Select
            label="Lost how"
            value={entry().lossCause}
            options={optionsOf(LOSSES)}
            onInput={(lossCause) => props.change({ lossCause })}
          />
        </Show>
        <Show when={entry().kind === 'move'}>
          <Select
            label="Why"
            value={entry().cause}
            options={optionsOf(MOVES)}
            onInput={(cause) => props.change({ cause })}
          />
        </Show>
        <Show when={entry().kind === 'gain'}>
          <Select
            label="Why"
            value={entry().gainCause}
            options={optionsOf(GAINS)}
            onInput={(gainCause) => props.change({ gainCause })}
          />
        </Show>
      </div>
      <Show when={isMove(entry().kind)}>
        <Measured entry={entry()} change={props.change} stock={judged()} />
      </Show>
      <Show when={entry().kind === 'receive'}>
        <Check
          label="Bought as juice or wine"
          checked={entry().bought}
          onInput={(bought) => props.change({ bought })}
        />
        <Show when={entry().bought}>
          <div class="columns">
            <TextField
              label="Variety"
              value={entry().variety}
              onInput={(variety) => props.change({ variety })}
              wrong={said('variety')}
              maxLength={80}
            />
            <TextField
              label="Vintage"
              value={entry().vintage}
              onInput={(vintage) => props.change({ vintage })}
              wrong={said('vintage')}
              maxLength={10}
            />
            <TextField
              label="Block"
              value={entry().block}
              onInput={(block) => props.change({ block })}
              maxLength={80}
            />
            <TextField
              label="Origin"
              value={entry().origin}
              onInput={(origin) => props.change({ origin })}
              maxLength={80}
            />
          </div>
        </Show>
      </Show>
      <WhenAndWho entry={entry()} change={props.change} error={props.error} at={props.at} />
    </>
  )
}

/** Dips against the book and the plan, with what is usual. */
function Measured(props: {
  readonly entry: Entry
  readonly change: (part: Partial<Entry>) => void
  readonly stock: StockWire | undefined
}) {
  const session = useSession()
  const format = session.format
  const from = () => contentOf(props.stock, props.entry.from)
  const to = () => contentOf(props.stock, props.entry.to)
  const shown = (value: number | undefined) =>
    value === undefined ? undefined : Math.round(format().volumeShown(value) * 1000) / 1000
  const stored = (typed: number | undefined) => (typed === undefined ? undefined : format().volumeL(typed))
  const told = (
    measuredL: number | undefined,
    expectedL: number | undefined,
    kind: Parameters<typeof differenceOf>[2],
  ) => {
    if (measuredL === undefined || expectedL === undefined || expectedL <= 0) return undefined
    const found = differenceOf(measuredL, expectedL, kind)
    const by = `${found.differenceL > 0 ? '+' : ''}${sayLitres(format(), found.differenceL)}`
    return {
      isWithin: found.isWithin,
      words: `${by} against ${sayLitres(format(), expectedL)}; up to ${sayLitres(format(), Math.round(found.toleranceL))} is usual`,
    }
  }
  const before = () => told(props.entry.beforeL, from()?.volumeL, from()?.vessel.kind ?? 'tank')
  const after = () =>
    told(
      props.entry.afterL,
      props.entry.volumeL === undefined ? undefined : (to()?.volumeL ?? 0) + props.entry.volumeL,
      to()?.vessel.kind ?? 'tank',
    )
  const planned = () => told(props.entry.volumeL, props.entry.plannedL, to()?.vessel.kind ?? 'tank')
  const hint = (found: ReturnType<typeof told>) => (found?.isWithin ? found.words : undefined)
  const wrong = (found: ReturnType<typeof told>) => (found && !found.isWithin ? found.words : undefined)
  return (
    <details
      open={props.entry.beforeL !== undefined || props.entry.afterL !== undefined || props.entry.plannedL !== undefined}
    >
      <summary>Planned and dipped</summary>
      <div class="columns">
        <NumberField
          label="Planned to arrive"
          unit={format().volumeUnit}
          min={0}
          value={shown(props.entry.plannedL)}
          onInput={(typed) => props.change({ plannedL: stored(typed) })}
          hint={hint(planned())}
          wrong={wrong(planned())}
        />
        <NumberField
          label="Dipped before, where it came from"
          unit={format().volumeUnit}
          min={0}
          value={shown(props.entry.beforeL)}
          onInput={(typed) => props.change({ beforeL: stored(typed) })}
          hint={hint(before())}
          wrong={wrong(before())}
        />
        <NumberField
          label="Dipped after, where it went"
          unit={format().volumeUnit}
          min={0}
          value={shown(props.entry.afterL)}
          onInput={(typed) => props.change({ afterL: stored(typed) })}
          hint={hint(after())}
          wrong={wrong(after())}
        />
      </div>
      <p class="small quiet">
        Usual: within 1 % in tanks, 3 % in wood and kegs (common practice). What is off by more is written down as a
        loss or a gauged gain, never smoothed over.
      </p>
    </details>
  )
}

function WhenAndWho(props: {
  readonly entry: Entry
  readonly change: (part: Partial<Entry>) => void
  readonly error: unknown
  readonly at?: string
}) {
  const people = usePeople()
  const flip = (id: string, isOn: boolean) =>
    props.change({ people: isOn ? [...props.entry.people, id] : props.entry.people.filter((other) => other !== id) })
  return (
    <>
      <div class="row top">
        <TextField
          label="When it happened"
          type="datetime-local"
          hint="Empty: now. A late entry takes its real time"
          class="short"
          value={props.entry.wall}
          onInput={(wall) => props.change({ wall })}
          wrong={wrongAt(props.error, `#${props.at ?? ''}/atLocal`) ?? wrongAt(props.error, `#${props.at ?? ''}/at`)}
        />
        <TextField
          label="Remark"
          class="grow"
          value={props.entry.reason}
          onInput={(reason) => props.change({ reason })}
          maxLength={500}
        />
      </div>
      <fieldset class="field">
        <legend>Who</legend>
        <div class="entry-people">
          <For each={(people.dataUpdatedAt > 0 && people.data?.people) || []}>
            {(person) => (
              <Check
                label={person.name}
                checked={props.entry.people.includes(person.id)}
                onInput={(isOn) => flip(person.id, isOn)}
              />
            )}
          </For>
        </div>
        <span class="hint">Nobody ticked: you</span>
      </fieldset>
    </>
  )
}
