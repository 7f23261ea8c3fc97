import { For } from 'solid-js'
import type { Family } from '../../api/protocol/types.ts'
import type { Palette } from '../palette.ts'
import { lookBy, type PegLook } from './look.ts'
import { CONFLICT, FAMILY_ORDER, LATE, PEG_STATES, type PegState } from './model.ts'
import { drawPeg } from './peg.ts'
import { svgDrawing } from './svg.ts'

const look = (family: Family, state: PegState, flags = 0): PegLook =>
  lookBy(FAMILY_ORDER.indexOf(family), PEG_STATES.indexOf(state), state === 'underway' ? 4 : 0, flags)

const STATES: readonly (readonly [string, PegLook])[] = [
  ['planned', look('ferment', 'planned')],
  ['due', look('ferment', 'due')],
  ['under way', look('ferment', 'underway')],
  ['done', look('ferment', 'done')],
  ['late', look('ferment', 'due', LATE)],
  ['blocked', look('ferment', 'blocked')],
  ['breaks a rule', look('ferment', 'due', CONFLICT)],
]

const WORDS: Readonly<Record<Family, string>> = {
  juice: 'fruit and juice',
  ferment: 'ferment',
  check: 'check',
  move: 'move',
  lees: 'lees',
  protect: 'protect',
}

/** The two halves of the language: outline tells the kind, fill tells the state. */
export function Legend(props: { readonly palette: Palette }) {
  return (
    <div class="legend" aria-hidden="true">
      <For each={FAMILY_ORDER}>
        {(family) => <Sign look={look(family, 'planned')} word={WORDS[family]} palette={props.palette} />}
      </For>
      <span class="gap" />
      <For each={STATES}>{([word, shown]) => <Sign look={shown} word={word} palette={props.palette} />}</For>
      <span class="gap" />
      <span>
        <svg viewBox="-11 -11 22 22" width="18" height="18" aria-hidden="true">
          <path d="M-10 2.5H11" stroke={props.palette.quiet} stroke-width="1.2" stroke-dasharray="6 3" />
        </svg>
        its day, hour not named yet
      </span>
    </div>
  )
}

function Sign(props: { readonly look: PegLook; readonly word: string; readonly palette: Palette }) {
  // Drawn in the page: as a picture each of them would be a document of its own to set up.
  const drawn = () => {
    const drawing = svgDrawing(`legend${props.look.code}-`)
    drawPeg(drawing.surface, props.look, 12, props.palette)
    return drawing.body()
  }
  return (
    <span>
      <svg viewBox="-11 -11 22 22" width="18" height="18" innerHTML={drawn()} aria-hidden="true" />
      {props.word}
    </span>
  )
}
