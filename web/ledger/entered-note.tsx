import { For, Show } from 'solid-js'
import type { CompositionWire, EnteredWire, LotsEnteredWire } from '../../api/wire.ts'
import { useSession } from '../session.tsx'
import { ATTRIBUTE_WORDS, ATTRIBUTES } from './contents.tsx'
import { sayLitres, sayMovement, sayShare } from './words.ts'

/** What an entry would do: each movement, each vessel after it, and the shares where other wine comes in. */
export function EnteredNote(props: { readonly entered: EnteredWire }) {
  const session = useSession()
  const format = session.format
  return (
    <section class="note stack tight" role="status" aria-label="What it would do">
      <p>
        <strong>Nothing is written yet.</strong>
      </p>
      <ul>
        <For each={props.entered.movements}>{(movement) => <li>{sayMovement(format(), movement)}</li>}</For>
      </ul>
      <For each={props.entered.contents}>
        {(touched) => (
          <div>
            <p>
              <b>{touched.content.vessel.code}</b>{' '}
              {touched.content.lot
                ? `then holds ${sayLitres(format(), touched.content.volumeL)} of ${touched.content.lot.code}.`
                : 'is then empty and wants cleaning.'}
            </p>
            <Show when={touched.before}>
              {(before) => (
                <ul class="small">
                  <For each={changedShares(before(), touched.composition)}>
                    {(row) => (
                      <li>
                        {ATTRIBUTE_WORDS[row.attribute]} {row.value}: {sayShare(format(), row.was)} →{' '}
                        <b>{sayShare(format(), row.is)}</b>
                      </li>
                    )}
                  </For>
                </ul>
              )}
            </Show>
          </div>
        )}
      </For>
      <For each={props.entered.warnings}>{(words) => <p class="late-text">{words}</p>}</For>
    </section>
  )
}

/** What a split or a merge does to the plans as well. */
export function LotsNote(props: { readonly entered: LotsEnteredWire }) {
  const lots = (list: LotsEnteredWire['lots']) => list.map((lot) => `${lot.code} ${lot.name}`).join(', ')
  return (
    <>
      <EnteredNote entered={props.entered} />
      <dl class="pairs">
        <dt>New</dt>
        <dd>{lots(props.entered.lots)}</dd>
        <Show when={props.entered.ended.length > 0}>
          <dt>Ends</dt>
          <dd>{lots(props.entered.ended)}</dd>
        </Show>
        <dt>Plans</dt>
        <dd>
          {props.entered.tasksCancelled} tasks of the old {props.entered.tasksCancelled === 1 ? 'plan is' : 'plans are'}{' '}
          called off, {props.entered.tasksNew} start in the new.
        </dd>
      </dl>
    </>
  )
}

interface ChangedShare {
  readonly attribute: keyof CompositionWire
  readonly value: string
  readonly was: number
  readonly is: number
}

export function changedShares(before: CompositionWire, after: CompositionWire): readonly ChangedShare[] {
  return ATTRIBUTES.flatMap((attribute) => {
    const shareIn = (from: CompositionWire, value: string) =>
      from[attribute].find((part) => part.value === value)?.share ?? 0
    const values = new Set([...before[attribute], ...after[attribute]].map((part) => part.value))
    return [...values]
      .map((value) => ({ attribute, value, was: shareIn(before, value), is: shareIn(after, value) }))
      .filter((row) => Math.abs(row.was - row.is) > 1e-9)
  })
}
