import { createMemo, createSignal, For, Show } from 'solid-js'
import type { CountWire, StockWire } from '../../api/wire.ts'
import { BookNav } from '../ledger/book-nav.tsx'
import { type Counted, countBody, linesOf } from '../ledger/count.ts'
import { type Sent, sendEntry, useCounts, useStock } from '../ledger/queries.ts'
import { sayCause, sayLitres } from '../ledger/words.ts'
import { Badge } from '../parts/badge.tsx'
import { Button } from '../parts/button.tsx'
import { Check, NumberField, Select, TextField } from '../parts/field.tsx'
import { Folio, PageHead } from '../parts/page-head.tsx'
import { Ask, Empty, Failed } from '../parts/states.tsx'
import { VesselTag } from '../parts/tag.tsx'
import { toast } from '../parts/toast.tsx'
import { useWrite } from '../queries.ts'
import { useSession } from '../session.tsx'
import { VESSEL_WORDS } from '../words.ts'

const CAUSES = ['gauge', 'evaporation', 'leak', 'spill', 'pump and hose', 'filter', 'lees', 'other'] as const

/** The stock counted: a blank sheet to walk with, what was found, and each difference explained. */
export function LedgerCount() {
  const session = useSession()
  const stock = useStock()
  return (
    <>
      <PageHead title="Ledger: stock count" lede="Dip, type, explain what differs. The book then says what is there.">
        <Button onClick={() => window.print()}>Print the blank sheet</Button>
      </PageHead>
      <BookNav />
      <Ask query={stock} what="the stock">
        {(answer) => (
          <>
            <BlankSheet stock={answer()} />
            <div class="no-print">
              <Show
                when={session.leads()}
                fallback={
                  <Empty title="Not for this sign-in">
                    <p>An owner or a winemaker writes a count into the book. The blank sheet prints for everybody.</p>
                  </Empty>
                }
              >
                <CountForm stock={answer()} />
              </Show>
            </div>
          </>
        )}
      </Ask>
      <div class="no-print">
        <Earlier />
      </div>
    </>
  )
}

function CountForm(props: { readonly stock: StockWire }) {
  const session = useSession()
  const format = session.format
  const [typed, setTyped] = createSignal<ReadonlyMap<string, Counted>>(new Map())
  const [wall, setWall] = createSignal('')
  const [empty, setEmpty] = createSignal(false)
  const look = useWrite((sent: Sent) => sendEntry<CountWire>(sent))
  const write = useWrite((sent: Sent) => sendEntry<CountWire>(sent))
  const shown = createMemo(() => props.stock.contents.filter((content) => empty() || content.volumeL > 0))
  const lines = createMemo(() => linesOf(props.stock, typed()))
  const found = () => look.data
  const change = (vessel: string, part: Partial<Counted>, isFigure: boolean) => {
    if (isFigure) look.reset()
    write.reset()
    setTyped((now) =>
      new Map(now).set(vessel, { ...{ volumeL: undefined, cause: '', reason: '' }, ...now.get(vessel), ...part }),
    )
  }
  const lacks = () =>
    (found()?.lines ?? []).filter((line) => {
      const own = typed().get(line.vessel.code)
      return line.needsReason && (!own?.cause || !own.reason.trim())
    })
  const sent = (preview: boolean): Sent => ({ path: '/counts', body: countBody(lines(), wall()), preview })
  const check = async () => {
    try {
      await look.mutateAsync(sent(true))
    } catch {
      // shown below
    }
  }
  const send = async () => {
    try {
      const told = await write.mutateAsync(sent(false))
      toast(`Counted ${told.lines.length} vessels; ${sayLitres(format(), told.differenceL)} difference is in the book.`)
      setTyped(new Map())
      look.reset()
    } catch {
      // shown below
    }
  }
  return (
    <Folio title="Count" note="Leave empty what was not counted.">
      <form
        class="stack"
        aria-label="Stock count"
        onSubmit={(event) => {
          event.preventDefault()
          void (found() ? send() : check())
        }}
      >
        <div class="row top">
          <TextField
            label="When it was counted"
            type="datetime-local"
            hint="Empty: now, cellar time"
            value={wall()}
            onInput={(next) => {
              look.reset()
              setWall(next)
            }}
            class="short"
          />
          <Check label="Empty vessels too" checked={empty()} onInput={setEmpty} />
        </div>
        <table class="ledger folds">
          <thead>
            <tr>
              <th>Vessel</th>
              <th>Lot</th>
              <th class="n">By the book</th>
              <th>Counted</th>
              <th>Difference</th>
            </tr>
          </thead>
          <tbody>
            <For each={shown()}>
              {(content) => {
                const code = content.vessel.code
                const own = () => typed().get(code)
                const line = () => found()?.lines.find((one) => one.vessel.code === code)
                return (
                  <tr>
                    <th scope="row" class="first">
                      <VesselTag code={code} />
                    </th>
                    <td>{content.lot?.code ?? 'empty'}</td>
                    <td class="n" data-label="by the book">
                      {sayLitres(format(), content.volumeL)}
                    </td>
                    <td data-label="counted">
                      <NumberField
                        class="tiny bare"
                        label={`${code} counted`}
                        unit={format().volumeUnit}
                        min={0}
                        value={shownVolume(own()?.volumeL, format().volumeShown)}
                        onInput={(next) =>
                          change(code, { volumeL: next === undefined ? undefined : format().volumeL(next) }, true)
                        }
                      />
                    </td>
                    <td>
                      <Show when={line()}>
                        {(differs) => (
                          <div class="stack tight">
                            <span>
                              {differs().differenceL > 0 ? '+' : ''}
                              {sayLitres(format(), differs().differenceL)}{' '}
                              <Show when={!differs().withinTolerance}>
                                <Badge kind="late">more than usual</Badge>
                              </Show>
                            </span>
                            <Show when={differs().needsReason}>
                              <Select
                                label={`${code} cause`}
                                value={own()?.cause ?? ''}
                                options={[
                                  { value: '', label: 'Choose …' },
                                  ...CAUSES.map((value) => ({ value, label: sayCause(value) })),
                                ]}
                                onInput={(cause) => change(code, { cause }, false)}
                              />
                              <TextField
                                label={`${code} explained`}
                                value={own()?.reason ?? ''}
                                onInput={(reason) => change(code, { reason }, false)}
                                maxLength={500}
                              />
                            </Show>
                          </div>
                        )}
                      </Show>
                    </td>
                  </tr>
                )
              }}
            </For>
          </tbody>
        </table>
        <Show when={found()}>
          {(count) => (
            <p role="status">
              {count().lines.length} counted, {sayLitres(format(), count().differenceL)} difference in all.{' '}
              {lacks().length > 0
                ? `${lacks().length} still to explain: ${lacks()
                    .map((line) => line.vessel.code)
                    .join(', ')}.`
                : 'Nothing is written yet.'}
            </p>
          )}
        </Show>
        <Show when={look.error ?? write.error}>{(error) => <Failed error={error()} />}</Show>
        <div class="row">
          <Button
            kind={found() ? undefined : 'main'}
            pending={look.isPending}
            disabled={lines().length === 0}
            onClick={() => void check()}
          >
            Show the differences
          </Button>
          <Button kind="main" type="submit" pending={write.isPending} disabled={!found() || lacks().length > 0}>
            Write the count
          </Button>
        </div>
      </form>
    </Folio>
  )
}

const shownVolume = (volumeL: number | undefined, shown: (volumeL: number) => number) =>
  volumeL === undefined ? undefined : Math.round(shown(volumeL) * 1000) / 1000

/** For the walk: what should be where, a line for what is. Paper only. */
function BlankSheet(props: { readonly stock: StockWire }) {
  const session = useSession()
  const format = session.format
  return (
    <section class="register print-only" aria-label="Blank count sheet">
      <h2>Stock count, {session.cellar().name}</h2>
      <p>Date ____________ Time ________ Counted by ______________________________</p>
      <table class="ledger">
        <thead>
          <tr>
            <th>Vessel</th>
            <th>Kind</th>
            <th>Lot</th>
            <th class="n">Holds at most</th>
            <th>Dip, cm</th>
            <th>Counted, {format().volumeUnit}</th>
            <th>Remark</th>
          </tr>
        </thead>
        <tbody>
          <For each={props.stock.contents}>
            {(content) => (
              <tr>
                <td>{content.vessel.code}</td>
                <td>{VESSEL_WORDS[content.vessel.kind]}</td>
                <td>{content.lot?.code ?? 'empty'}</td>
                <td class="n">{format().volume(content.vessel.capacityL)}</td>
                <td>
                  <span class="count-blank" />
                </td>
                <td>
                  <span class="count-blank" />
                </td>
                <td>
                  <span class="count-blank" />
                </td>
              </tr>
            )}
          </For>
        </tbody>
      </table>
    </section>
  )
}

function Earlier() {
  const session = useSession()
  const format = session.format
  const counts = useCounts()
  return (
    <Folio title="Earlier counts">
      <Ask query={counts} what="the counts">
        {(answer) => (
          <Show when={answer().counts.length > 0} fallback={<p class="quiet">Nothing has been counted yet.</p>}>
            <table class="ledger folds">
              <thead>
                <tr>
                  <th>When</th>
                  <th>Who</th>
                  <th class="n">Vessels</th>
                  <th class="n">Difference</th>
                  <th>Explained</th>
                </tr>
              </thead>
              <tbody>
                <For each={answer().counts}>
                  {(count) => (
                    <tr>
                      <td class="nowrap first">{format().moment(count.at)}</td>
                      <td>{count.person}</td>
                      <td class="n" data-label="vessels">
                        {count.lines.length}
                      </td>
                      <td class="n" data-label="difference">
                        {sayLitres(format(), count.differenceL)}
                      </td>
                      <td class="small">
                        {count.lines
                          .filter((line) => line.reason)
                          .map((line) => `${line.vessel.code}: ${line.reason}`)
                          .join('; ')}
                      </td>
                    </tr>
                  )}
                </For>
              </tbody>
            </table>
          </Show>
        )}
      </Ask>
    </Folio>
  )
}
