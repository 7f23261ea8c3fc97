import { A } from '@solidjs/router'
import { createMemo, createSignal, For, Show } from 'solid-js'
import type { VesselWire } from '../../api/wire.ts'
import { Badge } from '../parts/badge.tsx'
import { Button } from '../parts/button.tsx'
import { Check, NumberField, TextField } from '../parts/field.tsx'
import { Folio, PageHead } from '../parts/page-head.tsx'
import { Ask, Empty } from '../parts/states.tsx'
import { VesselTag } from '../parts/tag.tsx'
import { useVessels } from '../queries.ts'
import { useSession } from '../session.tsx'
import { VESSEL_STATE_WORDS, VESSEL_WORDS } from '../words.ts'
import { VesselDialog } from './vessel-dialog.tsx'
import { VesselDrawing } from './vessel-drawing.tsx'

const inBarrelRow = (vessel: VesselWire) => vessel.row !== undefined

/** What is where, how full, free from when; barrels by the row they lie in. */
export function Vessels() {
  const session = useSession()
  const vessels = useVessels()
  const [open, setOpen] = createSignal<VesselWire | 'new'>()
  const [onlyFree, setOnlyFree] = createSignal(false)
  const [wantedL, setWantedL] = createSignal<number>()
  const [find, setFind] = createSignal('')
  const fits = (vessel: VesselWire) =>
    (!onlyFree() || (vessel.now === null && vessel.state !== 'out-of-service')) &&
    vessel.volumeL >= (wantedL() === undefined ? 0 : session.format().volumeL(wantedL() ?? 0)) &&
    `${vessel.code} ${vessel.now?.lotCode ?? ''} ${vessel.now?.lotName ?? ''} ${VESSEL_WORDS[vessel.kind]}`
      .toLowerCase()
      .includes(find().toLowerCase())
  return (
    <>
      <PageHead title="Vessels" lede="What is where, how full, and free from when.">
        <Show when={session.leads()}>
          <Button kind="main" onClick={() => setOpen('new')}>
            New vessel
          </Button>
        </Show>
      </PageHead>
      <Ask query={vessels} what="the vessels">
        {(answer) => {
          const shown = createMemo(() => answer().vessels.filter(fits))
          const rows = createMemo(() => byRow(shown().filter(inBarrelRow)))
          const tanks = createMemo(() => shown().filter((vessel) => !inBarrelRow(vessel)))
          return (
            <Show
              when={answer().vessels.length > 0}
              fallback={
                <Empty title="No vessel yet">
                  <p>
                    Add one by one here, or many at once from a table under <A href="/exchange">Import, export</A>.
                  </p>
                </Empty>
              }
            >
              <div class="row filters">
                <TextField label="Find" value={find()} onInput={setFind} />
                <NumberField
                  class="short"
                  label="Holds at least"
                  unit={session.format().volumeUnit}
                  min={0}
                  value={wantedL()}
                  onInput={setWantedL}
                />
                <Check label="Only free now" checked={onlyFree()} onInput={setOnlyFree} />
              </div>
              <p class="quiet" role="status">
                {summary(shown(), session.format().volume)}
              </p>
              <Show when={tanks().length > 0}>
                <Folio title="Tanks and others" note={`${tanks().length} shown`}>
                  <div class="cellar-floor">
                    <For each={tanks()}>{(vessel) => <VesselEntry vessel={vessel} open={() => setOpen(vessel)} />}</For>
                  </div>
                </Folio>
              </Show>
              <For each={rows()}>
                {([row, barrels]) => (
                  <Folio
                    title={`Row ${row}`}
                    note={`${barrels.filter((barrel) => barrel.now).length} of ${barrels.length} full`}
                  >
                    <div class="barrel-row">
                      <For each={barrels}>
                        {(barrel) => (
                          <button
                            type="button"
                            class="barrel"
                            classList={{ full: barrel.now !== null }}
                            aria-label={`${barrel.code}: ${barrel.now ? `${barrel.now.lotCode}, ${session.format().volume(barrel.now.volumeL)}` : VESSEL_STATE_WORDS[barrel.state]}`}
                            onClick={() => setOpen(barrel)}
                          >
                            <b>{barrel.code}</b>
                            {barrel.now?.lotCode ?? '–'}
                          </button>
                        )}
                      </For>
                    </div>
                  </Folio>
                )}
              </For>
            </Show>
          )
        }}
      </Ask>
      <Show when={open()} keyed>
        {(which) => <VesselDialog vessel={which === 'new' ? undefined : which} close={() => setOpen(undefined)} />}
      </Show>
    </>
  )
}

function summary(vessels: readonly VesselWire[], say: (volumeL: number) => string): string {
  const full = vessels.filter((vessel) => vessel.now)
  const heldL = full.reduce((sum, vessel) => sum + (vessel.now?.volumeL ?? 0), 0)
  const roomL = vessels
    .filter((vessel) => !vessel.now && vessel.state !== 'out-of-service')
    .reduce((sum, vessel) => sum + vessel.volumeL, 0)
  return `${full.length} of ${vessels.length} in use, ${say(heldL)} of wine and juice; ${say(roomL)} of empty room.`
}

function byRow(barrels: readonly VesselWire[]): readonly (readonly [string, readonly VesselWire[]])[] {
  const rows = new Map<string, VesselWire[]>()
  for (const barrel of barrels) rows.set(barrel.row ?? '', [...(rows.get(barrel.row ?? '') ?? []), barrel])
  return [...rows]
    .sort(([a], [b]) => inCounting(a, b))
    .map(([row, list]) => [row, list.sort((a, b) => inCounting(a.code, b.code))])
}

const inCounting = (a: string, b: string) => a.localeCompare(b, 'en', { numeric: true })

function VesselEntry(props: { readonly vessel: VesselWire; readonly open: () => void }) {
  const session = useSession()
  const format = session.format
  const now = () => props.vessel.now
  const share = () => (now()?.volumeL ?? 0) / props.vessel.volumeL
  return (
    <article class="vessel">
      <VesselDrawing kind={props.vessel.kind} share={Math.min(1, share())} />
      <div>
        <div class="row">
          <button
            type="button"
            class="tag-button"
            aria-label={`${props.vessel.code}, details`}
            onClick={() => props.open()}
          >
            <VesselTag code={props.vessel.code} />
          </button>
          <span class="small quiet">
            {VESSEL_WORDS[props.vessel.kind]}, {format().volume(props.vessel.volumeL)}
          </span>
        </div>
        <Show
          when={now()}
          fallback={<p class="quiet">Empty, {VESSEL_STATE_WORDS[props.vessel.state].toLowerCase()}</p>}
        >
          {(inside) => (
            <>
              <p>
                <b>{inside().lotCode}</b> {inside().lotName}
              </p>
              <p class="small">
                {format().volume(inside().volumeL)}, {Math.round(share() * 100)} % full
                <Show when={share() > 1.005}>
                  {' '}
                  <Badge kind="late">too much</Badge>
                </Show>
              </p>
              <p class="small quiet">
                {inside().freeAt ? `free about ${format().dayMonth(inside().freeAt ?? '')}` : 'no end planned'}
              </p>
            </>
          )}
        </Show>
        <p class="small">
          <A
            href={`/ledger/vessels/${encodeURIComponent(props.vessel.id)}`}
            aria-label={`What is in ${props.vessel.code} and how it got there`}
          >
            what is in it
          </A>
        </p>
        <Show when={props.vessel.next[0]}>
          {(next) => (
            <p class="small quiet">
              next {next().lotCode}, {format().dayMonth(next().fromAt)}
            </p>
          )}
        </Show>
      </div>
    </article>
  )
}
