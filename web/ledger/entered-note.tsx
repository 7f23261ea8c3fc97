import { For, Show } from 'solid-js'
import type { CompositionWire, EnteredWire, LotRefWire, LotsEnteredWire } from '../../api/wire.ts'
import { useSession } from '../session.tsx'
import { ATTRIBUTE_WORDS, ATTRIBUTES } from './contents.tsx'
import { PlanLeft } from './plans-note.tsx'
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

/** What a split or a merge would do to the lots and their plans as well. */
export function LotsNote(props: {
  readonly entered: LotsEnteredWire
  /** Lots whose plans are touched, and whether the new lots go on with each. */
  readonly parents: readonly { readonly lot: LotRefWire; readonly goesOn: boolean }[]
}) {
  const lots = (list: LotsEnteredWire['lots']) => list.map((lot) => `${lot.code} ${lot.name}`).join(', ')
  const codes = () => props.entered.lots.map((lot) => lot.code).join(', ')
  const ends = (lot: LotRefWire) => props.entered.ended.some((other) => other.id === lot.id)
  return (
    <>
      <EnteredNote entered={props.entered} />
      <section class="note stack tight" aria-label="What becomes of the plans">
        <p>
          New: <b>{lots(props.entered.lots)}</b>.{' '}
          {props.entered.ended.length > 0 ? `Used up: ${lots(props.entered.ended)}.` : ''}
        </p>
        <For each={props.parents}>
          {(parent) => (
            <PlanLeft
              lot={parent.lot}
              ends={ends(parent.lot)}
              goesOnIn={parent.goesOn ? `what is still owed starts in ${codes()}, in its own vessels` : ''}
            />
          )}
        </For>
        <p class="small quiet">Choices of a new lot may be changed on its page afterwards.</p>
      </section>
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
