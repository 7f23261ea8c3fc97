import Papa from 'papaparse'
import { createSignal, For, Show } from 'solid-js'
import type { OpeningWire } from '../../api/wire.ts'
import { call } from '../api.ts'
import { BookNav } from '../ledger/book-nav.tsx'
import { sayLitres } from '../ledger/words.ts'
import { Badge } from '../parts/badge.tsx'
import { Button } from '../parts/button.tsx'
import { TextArea } from '../parts/field.tsx'
import { Folio, PageHead } from '../parts/page-head.tsx'
import { ScrollX } from '../parts/scroll-x.tsx'
import { Empty, Failed } from '../parts/states.tsx'
import { toast } from '../parts/toast.tsx'
import { useWrite } from '../queries.ts'
import { useSession } from '../session.tsx'

const SAMPLE =
  'vessel,lot,volumeL,variety,vintage,block,origin,name\nT18,V25,640,Chardonnay,2025,Old block,Home hill,Chardonnay 2025'

const COLUMNS: readonly (readonly [string, string])[] = [
  ['vessel', 'its code, as painted; it must be in the book and empty'],
  ['lot', 'the code of the lot; a new one is made where there is none'],
  ['volumeL', 'litres, to the millilitre'],
  ['variety', 'of the grapes'],
  ['vintage', 'the year they were picked'],
  ['block', 'where they grew'],
  ['origin', 'the place that a label may name'],
  ['name', 'of a new lot'],
]

const bring = (preview: boolean) => (csv: string) =>
  call<OpeningWire>('POST', `/api/ledger/opening?preview=${preview}`, { csv })

/** What lay in the cellar before the book began: looked at row by row, then written at once or not at all. */
export function LedgerOpening() {
  const session = useSession()
  const format = session.format
  const [text, setText] = createSignal('')
  const [checked, setChecked] = createSignal<{ readonly text: string; readonly answer: OpeningWire }>()
  const look = useWrite(bring(true))
  const write = useWrite(bring(false))
  const fresh = () => (checked()?.text === text() ? checked()?.answer : undefined)
  const lines = () => Papa.parse<string[]>(text(), { skipEmptyLines: true }).data.slice(1)
  const wrong = () => (fresh()?.bad ?? 0) + (fresh()?.errors.length ?? 0)
  const check = async () => {
    const asked = text()
    try {
      setChecked({ text: asked, answer: await look.mutateAsync(asked) })
    } catch {
      // shown below
    }
  }
  const send = async () => {
    try {
      const told = await write.mutateAsync(text())
      toast(`${told.rows.length} vessels written, ${sayLitres(format(), told.totalL)} in all.`)
      setText('')
    } catch {
      // shown below
    }
  }
  return (
    <>
      <PageHead title="Ledger: opening stock" lede="What lay in the cellar before this book began." />
      <BookNav />
      <Show
        when={session.leads()}
        fallback={
          <Empty title="Not for this sign-in">
            <p>An owner or a winemaker brings the opening stock in.</p>
          </Empty>
        }
      >
        <Folio title="Bring in" note="A wrong row stops the whole table: nothing is written by halves.">
          <dl class="pairs">
            <For each={COLUMNS}>
              {([name, words]) => (
                <>
                  <dt class="code">{name}</dt>
                  <dd>{words}</dd>
                </>
              )}
            </For>
          </dl>
          <TextArea
            label="Table, comma separated, first line names the columns"
            rows={6}
            value={text()}
            onInput={setText}
          />
          <div class="row">
            <label class="button">
              <input
                class="visually-hidden"
                type="file"
                accept=".csv,text/csv,text/plain"
                onChange={(event) => void event.currentTarget.files?.[0]?.text().then(setText)}
              />
              Choose a file
            </label>
            <Button kind="plain" onClick={() => setText(SAMPLE)}>
              Show a sample
            </Button>
            <Button kind="main" pending={look.isPending} disabled={lines().length === 0} onClick={() => void check()}>
              Check {lines().length > 0 ? `${lines().length} rows` : 'it'}
            </Button>
          </div>
          <Show when={look.error ?? write.error}>{(error) => <Failed error={error()} />}</Show>
          <Show when={fresh()}>
            {(answer) => (
              <>
                <p role="status">
                  <Show
                    when={wrong() > 0}
                    fallback={`All ${answer().rows.length} rows fit, ${sayLitres(format(), answer().totalL)} in all. Nothing is written yet.`}
                  >
                    <span class="late-text">
                      {answer().bad} of {answer().rows.length} rows do not fit.
                    </span>{' '}
                    Nothing is written; mend them above and check again.
                  </Show>
                </p>
                <For each={answer().errors}>{(words) => <p class="note bad">{words}</p>}</For>
                <ScrollX label="Rows as read">
                  <table class="ledger">
                    <thead>
                      <tr>
                        <th class="n">Row</th>
                        <th>Vessel</th>
                        <th>Lot</th>
                        <th class="n">Holds</th>
                        <th>Says</th>
                      </tr>
                    </thead>
                    <tbody>
                      <For each={answer().rows}>
                        {(row) => (
                          <tr classList={{ bad: row.errors.length > 0 }}>
                            <td class="n">{row.row}</td>
                            <td>{row.vessel}</td>
                            <td>
                              {row.lot}{' '}
                              <Show when={row.newLot}>
                                <Badge>new lot</Badge>
                              </Show>
                            </td>
                            <td class="n">{row.volumeL === undefined ? '' : sayLitres(format(), row.volumeL)}</td>
                            <td>
                              <For each={row.errors} fallback="fits">
                                {(error) => (
                                  <div class="late-text">
                                    {error.column} {error.detail}
                                  </div>
                                )}
                              </For>
                            </td>
                          </tr>
                        )}
                      </For>
                    </tbody>
                  </table>
                </ScrollX>
                <div>
                  <Button kind="main" pending={write.isPending} disabled={wrong() > 0} onClick={() => void send()}>
                    Write {answer().rows.length} rows
                  </Button>
                </div>
              </>
            )}
          </Show>
        </Folio>
      </Show>
    </>
  )
}
