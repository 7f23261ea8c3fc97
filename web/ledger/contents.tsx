/** What wine is made of and what was put in, as tables. */
import { For, Show } from 'solid-js'
import type { AddedWire, ClaimWire, CompositionWire, SourceWire } from '../../api/wire.ts'
import { Badge } from '../parts/badge.tsx'
import { useSession } from '../session.tsx'
import { LotLink } from './trace-table.tsx'
import { sayLitres, sayShare } from './words.ts'

export const ATTRIBUTE_WORDS: Readonly<Record<keyof CompositionWire, string>> = {
  variety: 'Variety',
  vintage: 'Vintage',
  block: 'Block',
  origin: 'Origin',
}

export const ATTRIBUTES = ['variety', 'vintage', 'block', 'origin'] as const

/** Shares by variety, vintage, block and origin; each adds up to the whole. */
export function Composition(props: { readonly composition: CompositionWire }) {
  const session = useSession()
  return (
    <table class="ledger">
      <caption class="visually-hidden">Made of</caption>
      <thead>
        <tr>
          <th>By</th>
          <th>Is</th>
          <th class="n">Share</th>
          <th class="share-cell">
            <span class="visually-hidden">Share as a length</span>
          </th>
          <th class="n">Holds of it</th>
        </tr>
      </thead>
      <tbody>
        <For each={ATTRIBUTES}>
          {(attribute) => (
            <For each={props.composition[attribute]}>
              {(part, at) => (
                <tr>
                  <td class="quiet">{at() === 0 ? ATTRIBUTE_WORDS[attribute] : ''}</td>
                  <td>{part.value}</td>
                  <td class="n">{sayShare(session.format(), part.share)}</td>
                  <td class="share-cell">
                    <span class="share-band" style={{ width: `${Math.min(100, part.share * 100)}%` }} />
                  </td>
                  <td class="n">{sayLitres(session.format(), part.volumeL)}</td>
                </tr>
              )}
            </For>
          )}
        </For>
      </tbody>
    </table>
  )
}

/** What a label may still claim, and how much other wine fits before it may not. */
export function Claims(props: { readonly claims: readonly ClaimWire[] }) {
  const session = useSession()
  const format = session.format
  return (
    <Show when={props.claims.length > 0} fallback={<p class="quiet">Nothing to claim: it is empty.</p>}>
      <table class="ledger folds">
        <thead>
          <tr>
            <th>Claim</th>
            <th class="n">Share now</th>
            <th class="n">Rule</th>
            <th>Holds</th>
            <th class="n">Other wine that still fits</th>
            <th>Source</th>
          </tr>
        </thead>
        <tbody>
          <For each={props.claims}>
            {(claim) => (
              <For each={claim.limits}>
                {(limit) => (
                  <tr>
                    <td class="first">
                      {ATTRIBUTE_WORDS[claim.attribute]} <b>{claim.value}</b>
                    </td>
                    <td class="n" data-label="Share now">
                      {sayShare(format(), claim.share)}
                    </td>
                    <td class="n" data-label="Rule">
                      {sayShare(format(), limit.limit)}
                    </td>
                    <td>{limit.holds ? 'holds' : <Badge kind="late">does not hold</Badge>}</td>
                    <td class="n" data-label="Other wine that still fits">
                      {limit.holds ? sayLitres(format(), limit.mayBlendL) : '–'}
                    </td>
                    <td class="small quiet">{limit.source}</td>
                  </tr>
                )}
              </For>
            )}
          </For>
        </tbody>
      </table>
    </Show>
  )
}

/** Everything that came through the door and is in here. */
export function Sources(props: { readonly sources: readonly SourceWire[] }) {
  const session = useSession()
  const format = session.format
  return (
    <table class="ledger folds">
      <caption class="visually-hidden">Every parcel in it</caption>
      <thead>
        <tr>
          <th>Parcel</th>
          <th>Variety</th>
          <th>Vintage</th>
          <th>Block</th>
          <th>Origin</th>
          <th class="n">Share</th>
          <th class="n">In it</th>
        </tr>
      </thead>
      <tbody>
        <For each={props.sources}>
          {(source) => (
            <tr>
              <td class="first">
                <LotLink lot={source.lot?.id} label={source.lot?.code ?? SOURCE_WORDS[source.kind]} />{' '}
                <span class="small quiet">{SOURCE_WORDS[source.kind]}</span>
              </td>
              <td>{source.variety}</td>
              <td>{source.vintage}</td>
              <td>{source.block}</td>
              <td>{source.origin}</td>
              <td class="n" data-label="Share">
                {sayShare(format(), source.share)}
              </td>
              <td class="n" data-label="In it">
                {sayLitres(format(), source.volumeL)}
              </td>
            </tr>
          )}
        </For>
      </tbody>
    </table>
  )
}

const SOURCE_WORDS: Readonly<Record<SourceWire['kind'], string>> = {
  fruit: 'own fruit',
  bought: 'bought in',
  opening: 'opening stock',
  unknown: 'not known',
}

/** Products that are in it, diluted by every blend. */
export function Added(props: { readonly added: readonly AddedWire[] }) {
  const session = useSession()
  return (
    <Show when={props.added.length > 0} fallback={<p class="quiet">Nothing was put in.</p>}>
      <table class="ledger">
        <thead>
          <tr>
            <th>Product</th>
            <th class="n">In each litre</th>
            <th class="n">In all</th>
          </tr>
        </thead>
        <tbody>
          <For each={props.added}>
            {(one) => (
              <tr>
                <td>{one.product}</td>
                <td class="n">
                  {session.format().number(one.perL, 1)} {one.unit === 'uL/L' ? 'µL/L' : one.unit}
                </td>
                <td class="n">
                  {one.unit === 'uL/L'
                    ? `${session.format().number(one.amountG, 1)} mL`
                    : session.format().dose(one.amountG, 'g')}
                </td>
              </tr>
            )}
          </For>
        </tbody>
      </table>
    </Show>
  )
}
