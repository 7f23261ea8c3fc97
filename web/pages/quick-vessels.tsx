import { createSignal, For, Index, Show } from 'solid-js'
import type { VesselWire } from '../../api/wire.ts'
import { post } from '../api.ts'
import { createFormat } from '../format.ts'
import { Button } from '../parts/button.tsx'
import { Check, NumberField, Select, TextField } from '../parts/field.tsx'
import { Failed } from '../parts/states.tsx'
import { useCellar, useWrite } from '../queries.ts'
import { optionsFrom, VESSEL_WORDS } from '../words.ts'
import { CsvBox } from './csv-box.tsx'

interface Rows {
  readonly kind: VesselWire['kind']
  readonly prefix: string
  readonly count: number | undefined
  readonly volumeL: number | undefined
  readonly jacket: boolean
}

const FIRST: readonly Rows[] = [
  { kind: 'tank', prefix: 'T', count: 4, volumeL: 5000, jacket: true },
  { kind: 'barrel', prefix: 'A', count: 0, volumeL: 228, jacket: false },
]

/** `T`, 3 gives T01, T02, T03. */
export const codesOf = (prefix: string, count: number): readonly string[] =>
  Array.from({ length: count }, (_, at) => `${prefix}${String(at + 1).padStart(2, '0')}`)

/** Like vessels are entered as one line; or a table is pasted. */
export function QuickVessels(props: { readonly done: () => void }) {
  const cellar = useCellar()
  const format = () => (cellar.dataUpdatedAt > 0 && cellar.data ? createFormat(cellar.data) : undefined)
  const [rows, setRows] = createSignal<readonly Rows[]>(FIRST)
  const change = (at: number, part: Partial<Rows>) =>
    setRows((now) => now.with(at, { ...(now[at] ?? FIRST[0]!), ...part }))
  const made = () => rows().flatMap((row) => codesOf(row.prefix, row.count ?? 0).map((code) => ({ code, row })))
  const save = useWrite(async () => {
    for (const { code, row } of made()) {
      const { kind, volumeL, jacket } = row
      const lying = kind === 'barrel' || kind === 'puncheon'
      await post('/api/vessels', { code, kind, volumeL, jacket, ...(lying ? { row: row.prefix, fills: 1 } : {}) })
    }
  })
  const send = async () => {
    try {
      await save.mutateAsync(undefined)
      props.done()
    } catch {
      // shown below
    }
  }
  return (
    <div class="stack">
      <p>What the wine lies in. Like vessels go on one line.</p>
      <Index each={rows()}>
        {(row, at) => (
          <div class="row top">
            <Select
              label="Kind"
              value={row().kind}
              options={optionsFrom(VESSEL_WORDS)}
              onInput={(kind) =>
                change(at, { kind, jacket: !['barrel', 'puncheon', 'amphora', 'cask'].includes(kind) })
              }
            />
            <TextField
              class="tiny"
              label="Letters"
              value={row().prefix}
              onInput={(prefix) => change(at, { prefix })}
              maxLength={8}
            />
            <NumberField
              class="tiny"
              label="How many"
              min={0}
              max={400}
              step={1}
              value={row().count}
              onInput={(count) => change(at, { count })}
            />
            <NumberField
              class="tiny"
              label="Each holds"
              unit={format()?.volumeUnit ?? 'L'}
              min={1}
              value={
                row().volumeL === undefined
                  ? undefined
                  : Math.round(format()?.volumeShown(row().volumeL ?? 0) ?? row().volumeL ?? 0)
              }
              onInput={(shown) =>
                change(at, { volumeL: shown === undefined ? undefined : (format()?.volumeL(shown) ?? shown) })
              }
            />
            <Check label="Jacket" checked={row().jacket} onInput={(jacket) => change(at, { jacket })} />
          </div>
        )}
      </Index>
      <div>
        <Button
          kind="plain"
          onClick={() =>
            setRows((now) => [...now, { kind: 'tank', prefix: 'V', count: 1, volumeL: 2000, jacket: true }])
          }
        >
          Another line
        </Button>
      </div>
      <Show when={made().length > 0}>
        <p class="quiet">
          {made().length} vessels:{' '}
          <For each={made().slice(0, 8)}>{(entry, at) => `${at() > 0 ? ', ' : ''}${entry.code}`}</For>
          {made().length > 8 ? ` … ${made().at(-1)?.code}` : ''}
        </p>
      </Show>
      <Show when={save.isError}>
        <Failed error={save.error} />
      </Show>
      <div class="row">
        <Button kind="main" big pending={save.isPending} disabled={made().length === 0} onClick={() => void send()}>
          Keep the vessels
        </Button>
        <Button big onClick={props.done}>
          Skip
        </Button>
      </div>
      <details>
        <summary>Or paste a table</summary>
        <CsvBox table="vessels" done={props.done} />
      </details>
    </div>
  )
}
