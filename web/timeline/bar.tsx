import { For, Show } from 'solid-js'
import { Menu } from '../parts/menu.tsx'
import type { Days } from './days.ts'
import { FAMILY_ORDER, type Model } from './model.ts'
import type { Arrangement, RowsBy, SortBy, StateFilter } from './rows.ts'
import { type Span, spanAround, type View } from './view.ts'
import { daysWords, type Words } from './words.ts'

const BY: readonly (readonly [RowsBy, string])[] = [
  ['lot', 'Lots'],
  ['vessel', 'Vessels'],
  ['person', 'People'],
  ['machine', 'Machines'],
]
const SPANS: readonly (readonly [Span, string])[] = [
  ['day', 'Day'],
  ['week', 'Week'],
  ['month', 'Month'],
  ['season', 'Season'],
  ['all', 'All'],
]
const SORTS: readonly (readonly [SortBy, string])[] = [
  ['name', 'By name'],
  ['next', 'By what comes next'],
  ['late', 'Most late first'],
]
const STATES: readonly StateFilter[] = ['late', 'conflict', 'blocked', 'due', 'underway', 'planned', 'done']
const STATE_NAMES: Readonly<Record<StateFilter, string>> = {
  late: 'Late',
  conflict: 'Breaks a rule',
  blocked: 'Blocked',
  due: 'Due',
  underway: 'Under way',
  planned: 'Planned',
  done: 'Done',
}

export interface BarProps {
  readonly model: Model
  readonly words: Words
  readonly days: Days
  readonly view: View
  readonly nowMs: number
  readonly arrangement: Arrangement
  readonly allLinks: boolean
  readonly kept: boolean
  readonly atOnce: boolean
  readonly onAtOnce: () => void
  readonly readings: boolean
  readonly onReadings: () => void
  readonly onLengths: () => void
  readonly canMove: boolean
  readonly onView: (view: View) => void
  readonly onArrange: (arrangement: Arrangement) => void
  readonly onZoom: (factor: number) => void
  readonly onNow: () => void
  readonly onAllLinks: () => void
  readonly onKeepPlan: () => void
  readonly onPrint: () => void
  readonly onMoveTo: () => void
}

/** Words to press, no boxes: the chart is the page. */
export function SeasonBar(props: BarProps) {
  const change = (part: Partial<Arrangement>) => props.onArrange({ ...props.arrangement, ...part })
  const toggled = <T,>(list: readonly T[], value: T): readonly T[] =>
    list.includes(value) ? list.filter((v) => v !== value) : [...list, value]
  const tick = (on: boolean, word: string) => `${on ? '\u2713' : '\u2003'} ${word}`
  const pick = (span: Span) => {
    const middleMs = (props.view.fromMs + props.view.toMs) / 2
    const nowInSight = props.nowMs >= props.view.fromMs && props.nowMs < props.view.toMs
    props.onView({
      ...spanAround(span, nowInSight ? props.nowMs : middleMs, props.days, props.model),
      scrollPx: props.view.scrollPx,
    })
  }
  const filtered = () => props.arrangement.families.length + props.arrangement.states.length
  return (
    <div class="season-bar no-print">
      <h1>
        Season <span>{daysWords(props.words, props.words.dayShort, props.view.fromMs, props.view.toMs)}</span>
      </h1>
      <Show when={props.canMove}>
        <fieldset class="words" aria-label="The task chosen">
          <button type="button" onClick={() => props.onMoveTo()}>
            Move to …
          </button>
          <button type="button" onClick={() => props.onLengths()}>
            How long …
          </button>
        </fieldset>
      </Show>
      <fieldset class="words" aria-label="Rows">
        <For each={BY}>
          {([by, word]) => (
            <button type="button" aria-pressed={props.arrangement.by === by} onClick={() => change({ by, folded: [] })}>
              {word}
            </button>
          )}
        </For>
      </fieldset>
      <fieldset class="words" aria-label="Time shown">
        <For each={SPANS}>
          {([span, word]) => (
            <button type="button" onClick={() => pick(span)}>
              {word}
            </button>
          )}
        </For>
        <button type="button" onClick={() => props.onNow()}>
          Now
        </button>
        <button type="button" aria-label="Show less time" onClick={() => props.onZoom(1.5)}>
          +
        </button>
        <button type="button" aria-label="Show more time" onClick={() => props.onZoom(1 / 1.5)}>
          −
        </button>
      </fieldset>
      <fieldset class="words" aria-label="What is shown">
        <input
          class="find"
          type="search"
          aria-label="Find tasks, lots, vessels"
          placeholder="Find"
          value={props.arrangement.search}
          onInput={(event) => change({ search: event.currentTarget.value })}
        />
        <Menu
          class="plain-word"
          label={filtered() > 0 ? `Only ${filtered()} kinds` : 'Only …'}
          entries={[
            ...FAMILY_ORDER.map((family) => ({
              label: tick(props.arrangement.families.includes(family), `Kind: ${family}`),
              run: () => change({ families: toggled(props.arrangement.families, family) }),
            })),
            ...STATES.map((state) => ({
              label: tick(props.arrangement.states.includes(state), STATE_NAMES[state]),
              run: () => change({ states: toggled(props.arrangement.states, state) }),
            })),
            { label: 'Show everything', run: () => change({ families: [], states: [], search: '' }) },
          ]}
        />
        <Menu
          class="plain-word"
          label="More …"
          entries={[
            {
              label: tick(props.arrangement.grouped, 'In groups'),
              run: () => change({ grouped: !props.arrangement.grouped }),
            },
            ...SORTS.map(([sort, word]) => ({
              label: tick(props.arrangement.sort === sort, word),
              run: () => change({ sort }),
            })),
            { label: tick(props.atOnce, 'All rows at once'), run: () => props.onAtOnce() },
            { label: tick(props.allLinks, 'All links'), run: () => props.onAllLinks() },
            { label: tick(props.readings, 'Readings in the bands'), run: () => props.onReadings() },
            { label: tick(props.kept, 'Compare with the plan as it is now'), run: () => props.onKeepPlan() },
            { label: '\u2003 Print and export …', run: () => props.onPrint() },
          ]}
        />
      </fieldset>
    </div>
  )
}
