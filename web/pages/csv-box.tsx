import Papa from 'papaparse'
import { createSignal, For, Show } from 'solid-js'
import { call } from '../api.ts'
import { Button } from '../parts/button.tsx'
import { TextArea } from '../parts/field.tsx'
import { ScrollX } from '../parts/scroll-x.tsx'
import { Failed } from '../parts/states.tsx'
import { toast } from '../parts/toast.tsx'
import { useWrite } from '../queries.ts'

export type ImportTable = 'lots' | 'vessels' | 'people'

interface Imported {
  readonly good: number
  readonly bad: number
  /** About the table as a whole. */
  readonly errors: readonly string[]
  readonly rows: readonly {
    readonly row: number
    readonly errors: readonly { readonly column: string; readonly detail: string }[]
    readonly filled: readonly string[]
  }[]
  readonly columns: readonly string[]
}

export const SAMPLES: Readonly<Record<ImportTable, string>> = {
  vessels: 'code,kind,volumeL,jacket,row,fills\nT01,tank,5000,true,,\nA1,barrel,228,false,A,1',
  people: 'name,role,post,skills\nRobin,hand,cellar hand,pump press rounds',
  lots: 'code,name,variety,block,place,pickOn,style,tonnes,brix,pH,acidGPerLTartaric,malicGPerL,yanMgPerL,fruitTempC,rotPct,yieldLPerT\nL20,Terrace,Riesling,B4,Hill,2027-03-25,offdry,4.2,20.5,3.05,8.4,3.1,160,15,1,620',
}

/** Paste or choose a table; see what each row would become and what is wrong with it; only then write. */
export function CsvBox(props: { readonly table: ImportTable; readonly done?: () => void }) {
  const [text, setText] = createSignal('')
  const [checked, setChecked] = createSignal<{ readonly text: string; readonly answer: Imported }>()
  const look = useWrite((csv: string) => call<Imported>('POST', `/api/import/${props.table}?preview=true`, { csv }))
  const write = useWrite((csv: string) => call<Imported>('POST', `/api/import/${props.table}?preview=false`, { csv }))
  const fresh = () => (checked()?.text === text() ? checked()?.answer : undefined)
  const wrong = () => (fresh()?.bad ?? 0) + (fresh()?.errors.length ?? 0)
  const header = () => Papa.parse<string[]>(text(), { preview: 1 }).data[0] ?? []
  const lines = () => Papa.parse<string[]>(text(), { skipEmptyLines: true }).data.slice(1)

  const choose = async (file: File | undefined) => {
    if (file) setText(await file.text())
  }
  const preview = async () => {
    try {
      const asked = text()
      setChecked({ text: asked, answer: await look.mutateAsync(asked) })
    } catch {
      // shown below
    }
  }
  const send = async () => {
    try {
      await write.mutateAsync(text())
      toast(`${lines().length} rows written to ${props.table}.`)
      setText('')
      props.done?.()
    } catch {
      // shown below
    }
  }
  return (
    <div class="stack">
      <TextArea
        label="Table, comma separated, first line names the columns"
        rows={5}
        value={text()}
        onInput={setText}
      />
      <div class="row">
        <label class="button">
          <input
            class="visually-hidden"
            type="file"
            accept=".csv,text/csv,text/plain"
            onChange={(event) => void choose(event.currentTarget.files?.[0])}
          />
          Choose a file
        </label>
        <Button kind="plain" onClick={() => setText(SAMPLES[props.table])}>
          Show a sample
        </Button>
        <Button kind="main" pending={look.isPending} disabled={lines().length === 0} onClick={() => void preview()}>
          Check {lines().length > 0 ? `${lines().length} rows` : 'it'}
        </Button>
      </div>
      <Show when={look.isError && !fresh() ? look.error : write.isError ? write.error : undefined}>
        {(error) => <Failed error={error()} />}
      </Show>
      <Show when={fresh()}>
        {(answer) => (
          <>
            <p role="status">
              <Show when={wrong() > 0} fallback={`All ${answer().rows.length} rows fit. Nothing is written yet.`}>
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
                    <For each={header()}>{(name) => <th>{name}</th>}</For>
                    <th>Says</th>
                  </tr>
                </thead>
                <tbody>
                  <For each={answer().rows}>
                    {(row, at) => (
                      <tr classList={{ bad: row.errors.length > 0 }}>
                        <td class="n">{row.row}</td>
                        <For each={lines()[at()] ?? []}>{(cell) => <td>{cell}</td>}</For>
                        <td>
                          <For each={row.errors} fallback="fits">
                            {(error) => (
                              <div class="late-text">
                                {error.column} {error.detail}
                              </div>
                            )}
                          </For>
                          <Show when={row.filled.length > 0}>
                            <div class="small quiet">taken as usual: {row.filled.join(', ')}</div>
                          </Show>
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
    </div>
  )
}
