import { useSearchParams } from '@solidjs/router'
import { createSignal, Show } from 'solid-js'
import { addDays, startOfDay } from '../format.ts'
import { BookNav } from '../ledger/book-nav.tsx'
import { MovementTable } from '../ledger/movement-table.tsx'
import { useMovements } from '../ledger/queries.ts'
import { Button } from '../parts/button.tsx'
import { TextField } from '../parts/field.tsx'
import { PageHead } from '../parts/page-head.tsx'
import { Ask } from '../parts/states.tsx'
import { useSession } from '../session.tsx'

type Asked = { from?: string; to?: string; vessel?: string; lot?: string }

const DAY = /^\d{4}-\d{2}-\d{2}$/
const CODE = /^[A-Za-z0-9][A-Za-z0-9._-]*$/

/** Every movement, page by page. */
export function LedgerMovements() {
  const session = useSession()
  const [search, setSearch] = useSearchParams<Asked>()
  const [pages, setPages] = createSignal<readonly string[]>([])
  const zone = () => session.cellar().zone
  const movements = useMovements(() => ({
    ...(search.from && DAY.test(search.from) ? { from: startOfDay(search.from, zone()) } : {}),
    ...(search.to && DAY.test(search.to) ? { to: startOfDay(addDays(search.to, 1), zone()) } : {}),
    ...(search.vessel && CODE.test(search.vessel) ? { vessel: search.vessel } : {}),
    ...(search.lot && CODE.test(search.lot) ? { lot: search.lot } : {}),
    ...(pages().length > 0 ? { before: pages().at(-1) } : {}),
    limit: '100',
  }))
  const ask = (part: Asked) => {
    setPages([])
    setSearch(part, { replace: true })
  }
  return (
    <>
      <PageHead title="Ledger: movements" lede="Everything that was moved, newest first. Nothing is erased." />
      <BookNav />
      <div class="row filters no-print">
        <TextField label="From" type="date" value={search.from ?? ''} onInput={(from) => ask({ from })} />
        <TextField label="To" type="date" value={search.to ?? ''} onInput={(to) => ask({ to })} />
        <TextField label="Vessel" class="tiny" value={search.vessel ?? ''} onInput={(vessel) => ask({ vessel })} />
        <TextField label="Lot" class="tiny" value={search.lot ?? ''} onInput={(lot) => ask({ lot })} />
      </div>
      <Ask query={movements} what="the movements">
        {(answer) => (
          <>
            <MovementTable movements={answer().movements} none="Nothing was moved then." />
            <div class="row no-print">
              <Show when={pages().length > 0}>
                <Button onClick={() => setPages((now) => now.slice(0, -1))}>Newer</Button>
              </Show>
              <Show when={answer().next}>
                {(next) => <Button onClick={() => setPages((now) => [...now, next()])}>Older</Button>}
              </Show>
            </div>
          </>
        )}
      </Ask>
    </>
  )
}
