import { createSignal, For, Show } from 'solid-js'
import { Options } from '../parts/field.tsx'
import { Folio, PageHead } from '../parts/page-head.tsx'
import { Empty } from '../parts/states.tsx'
import { useSession } from '../session.tsx'
import { CsvBox, type ImportTable } from './csv-box.tsx'
import { OutsideBox } from './outside-box.tsx'

const TABLES = ['lots', 'vessels', 'people', 'machines', 'tasks', 'readings', 'additions', 'transfers', 'log'] as const

/** Tables in, with a look before anything is written; everything out, in plain formats. */
export function Exchange() {
  const session = useSession()
  const [table, setTable] = createSignal<ImportTable>('vessels')
  return (
    <>
      <PageHead
        title="Import, export"
        lede="Tables in, checked row by row before anything is written. Everything out, whenever you like."
      />
      <Show
        when={session.leads()}
        fallback={
          <Empty title="Not for this sign-in">
            <p>An owner or a winemaker brings tables in and takes them out.</p>
          </Empty>
        }
      >
        <Folio title="Bring in" note="A wrong row stops the whole table: nothing is written by halves.">
          <Options
            label="What"
            value={table()}
            options={[
              { value: 'vessels', label: 'Vessels' },
              { value: 'people', label: 'People' },
              { value: 'lots', label: 'Lots' },
            ]}
            onInput={setTable}
          />
          <Show when={table()} keyed>
            {(which) => <CsvBox table={which} />}
          </Show>
        </Folio>
        <Folio title="Outside calendar" note="Public holidays, the bottling line, a harvest gang.">
          <OutsideBox />
        </Folio>
        <Folio title="Take out" note="CSV for a spreadsheet; JSON holds everything.">
          <ul class="row">
            <For each={TABLES}>
              {(name) => (
                <li>
                  <a class="button" href={`/api/export/${name}.csv`} download="">
                    {name}.csv
                  </a>
                </li>
              )}
            </For>
            <li>
              <a class="button main" href="/api/export.json" download="">
                Everything, JSON
              </a>
            </li>
          </ul>
        </Folio>
      </Show>
    </>
  )
}
