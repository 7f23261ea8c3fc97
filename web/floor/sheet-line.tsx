import { For, Show } from 'solid-js'
import type { TaskWire } from '../../api/wire.ts'
import { kindsFor, readingInput } from '../readings.ts'
import { useSession } from '../session.tsx'
import { isByDay } from '../when.ts'
import { say, sayStep, sayThing } from '../words/words.ts'
import { FateLine } from './fate-line.tsx'
import { readingWord } from './floor-words.ts'
import { isTopping, movesLitres } from './litres.ts'
import { isUnread, isWrongTime, type SheetRow } from './sheet-row.ts'
import { placesOf } from './walk.ts'

const asksLitres = (task: TaskWire): boolean => isTopping(task) || movesLitres(task)

/** One row of the paper: what it was, and its blanks. */
export function SheetLine(props: {
  readonly n: number
  readonly task: TaskWire
  readonly row: SheetRow
  readonly opId: string | undefined
  readonly isSettled: boolean
  readonly isRefused: boolean
  /** Asked once whether what is hard to believe stands. */
  readonly isAsked: boolean
  readonly doubts: readonly string[]
  readonly onChange: (next: Partial<SheetRow>) => void
}) {
  const format = useSession().format
  return (
    <tr data-row={props.task.key} classList={{ bad: props.isRefused }}>
      <td>{props.n}</td>
      <td class="sheet-vessel">
        {placesOf(props.task).slice(0, 3).join(' ') || (props.task.lotId ? props.task.lotCode : '–')}
        {props.task.fromVessels.length > 0 && props.task.toVessels.length > 0
          ? ` → ${props.task.toVessels.slice(0, 3).join(' ')}`
          : ''}
      </td>
      <th scope="row">
        {sayStep(props.task)} <span class="quiet">{props.task.lotId ? props.task.lotCode : ''}</span>
        <div class="small quiet">
          {isByDay(props.task) ? say('inTheDay') : format().span(props.task.startAt, props.task.endAt)}
        </div>
        <FateLine opId={props.opId} taskKey={props.task.key} />
        <For each={props.doubts}>{(words) => <div class="small late-text">{words}</div>}</For>
        <Show when={props.isAsked && !props.isSettled}>
          <div class="small" role="alert">
            {say('writeAgainStands')}
          </div>
        </Show>
      </th>
      <td>
        <input
          class="input sheet-time"
          inputmode="numeric"
          autocomplete="off"
          placeholder="hh:mm"
          data-time
          aria-label={`${say('doneAt')} ${sayStep(props.task)} ${props.task.lotCode}`}
          aria-invalid={isWrongTime(props.row) || undefined}
          disabled={props.isSettled}
          value={props.row.time}
          onInput={(event) => props.onChange({ time: event.currentTarget.value })}
        />
        <Show when={props.task.caution && props.task.state !== 'underway'}>
          <label class="check small">
            <input
              type="checkbox"
              data-caution
              disabled={props.isSettled}
              checked={props.row.caution}
              onChange={(event) => props.onChange({ caution: event.currentTarget.checked })}
            />
            <span classList={{ 'late-text': isUnread(props.task, props.row) }}>{say('cautionOnPaper')}</span>
          </label>
        </Show>
      </td>
      <td>
        <div class="sheet-blanks">
          <For
            each={kindsFor(props.task.records, format()).filter((kind) => kind !== 'volume' || !asksLitres(props.task))}
          >
            {(kind) => (
              <Blank
                label={`${readingWord(kind, format())} ${readingInput(kind, format()).unit}`}
                name={kind}
                disabled={props.isSettled}
                value={props.row.values[kind] ?? ''}
                onInput={(value) => props.onChange({ values: { ...props.row.values, [kind]: value } })}
              />
            )}
          </For>
          <Show when={isTopping(props.task)}>
            <Blank
              label={say('toppedFrom')}
              name="source"
              disabled={props.isSettled}
              value={props.row.source}
              onInput={(source) => props.onChange({ source })}
            />
          </Show>
          <Show when={asksLitres(props.task)}>
            <Blank
              label={`${isTopping(props.task) ? say('toppedWith') : say('litresArrived')} ${format().volumeUnit}`}
              name="litres"
              disabled={props.isSettled}
              value={props.row.litres}
              onInput={(litres) => props.onChange({ litres })}
            />
          </Show>
          <For each={props.task.doses}>
            {(dose) => (
              <>
                <Blank
                  label={`${sayThing(dose.product)} ${format().doseScale(dose.amount, dose.unit).unit}`}
                  name={`dose ${dose.product}`}
                  hint={format().dose(dose.amount, dose.unit)}
                  disabled={props.isSettled}
                  value={props.row.amounts[dose.product] ?? ''}
                  onInput={(value) => props.onChange({ amounts: { ...props.row.amounts, [dose.product]: value } })}
                />
                <Blank
                  label={say('batchNo')}
                  name={`batch ${dose.product}`}
                  disabled={props.isSettled}
                  value={props.row.batches[dose.product] ?? ''}
                  onInput={(value) => props.onChange({ batches: { ...props.row.batches, [dose.product]: value } })}
                />
              </>
            )}
          </For>
        </div>
      </td>
      <td>
        <Blank
          label={say('note')}
          name="note"
          disabled={props.isSettled}
          value={props.row.note}
          onInput={(note) => props.onChange({ note })}
        />
      </td>
    </tr>
  )
}

function Blank(props: {
  readonly label: string
  readonly name: string
  readonly hint?: string
  readonly value: string
  readonly disabled: boolean
  readonly onInput: (value: string) => void
}) {
  return (
    <label class="sheet-blank">
      <span class="small">{props.label}</span>
      <input
        class="input"
        autocomplete="off"
        inputmode={
          props.name === 'note' || props.name === 'source' || props.name.startsWith('batch') ? 'text' : 'decimal'
        }
        data-blank={props.name}
        placeholder={props.hint ?? ''}
        disabled={props.disabled}
        value={props.value}
        onInput={(event) => props.onInput(event.currentTarget.value)}
      />
    </label>
  )
}
