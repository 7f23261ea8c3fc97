import { useSearchParams } from '@solidjs/router'
import { Match, Show, Switch } from 'solid-js'
import { BookNav } from '../ledger/book-nav.tsx'
import { LossTable, YieldTable } from '../ledger/losses.tsx'
import { type RegisterAsked, registerCsv, useRegister } from '../ledger/queries.ts'
import { RegisterTable } from '../ledger/register-table.tsx'
import { Button } from '../parts/button.tsx'
import { Options, TextField } from '../parts/field.tsx'
import { PageHead } from '../parts/page-head.tsx'
import { Ask } from '../parts/states.tsx'
import { useSession } from '../session.tsx'

const NAMES = {
  vessels: 'Movements by vessel',
  lots: 'Movements by lot',
  additions: 'Additions',
  balance: 'Volume balance',
  composition: 'Composition',
  stock: 'Contents on a date',
  losses: 'Losses',
  yields: 'Litres a tonne',
} as const
type Name = keyof typeof NAMES

const isName = (word: string | undefined): word is Name => word !== undefined && word in NAMES
const DAY = /^\d{4}-\d{2}-\d{2}$/

/** What an inspector or an accountant asks for: on screen, on paper, as a table for a spreadsheet. */
export function LedgerRegisters() {
  const session = useSession()
  const [search, setSearch] = useSearchParams<{
    name?: string
    from?: string
    to?: string
    unit?: string
    vessel?: string
    lot?: string
  }>()
  const name = (): Name => (isName(search.name) ? search.name : 'vessels')
  const from = () => (search.from && DAY.test(search.from) ? search.from : session.dayFromNow(-30))
  const to = () => (search.to && DAY.test(search.to) ? search.to : session.today())
  const unit = () => (search.unit === 'gal' || (!search.unit && session.format().units === 'us') ? 'gal' : 'L')
  const hasLot = () => isTable() && name() !== 'balance'
  const asked = (): RegisterAsked => ({
    name: name(),
    from: from(),
    to: to(),
    unit: unit(),
    ...(name() === 'vessels' && search.vessel ? { vessel: search.vessel } : {}),
    ...(hasLot() && search.lot ? { lot: search.lot } : {}),
  })
  const ask = (part: Record<string, string | undefined>) => setSearch(part, { replace: true })
  const isTable = () => name() !== 'losses' && name() !== 'yields'
  return (
    <>
      <PageHead title="Ledger: registers" lede="For a period: on the screen, on paper, or as a table to take along.">
        <Button onClick={() => window.print()}>Print</Button>
        <Show when={isTable()}>
          <a class="button main" href={registerCsv(asked())} download={`${name()}-${from()}-${to()}.csv`}>
            CSV
          </a>
        </Show>
      </PageHead>
      <BookNav />
      <div class="stack no-print filters">
        <Options
          label="Register"
          value={name()}
          options={Object.entries(NAMES).map(([value, label]) => ({ value: value as Name, label }))}
          onInput={(next) => ask({ name: next })}
        />
        <div class="row top">
          <Show when={name() !== 'yields'}>
            <Show when={name() !== 'stock'}>
              <TextField label="From" type="date" value={from()} onInput={(next) => ask({ from: next })} />
            </Show>
            <TextField
              label={name() === 'stock' ? 'At the end of' : 'To, this day with it'}
              type="date"
              value={to()}
              onInput={(next) => ask({ to: next })}
            />
          </Show>
          <Show when={isTable()}>
            <Options
              label="Volumes in"
              value={unit()}
              options={[
                { value: 'L', label: 'litres' },
                { value: 'gal', label: 'US wine gallons' },
              ]}
              onInput={(next) => ask({ unit: next })}
            />
          </Show>
          <Show when={name() === 'vessels'}>
            <TextField
              label="Only vessel"
              class="tiny"
              value={search.vessel ?? ''}
              onInput={(vessel) => ask({ vessel: vessel || undefined })}
            />
          </Show>
          <Show when={hasLot()}>
            <TextField
              label="Only lot"
              class="tiny"
              value={search.lot ?? ''}
              onInput={(lot) => ask({ lot: lot || undefined })}
            />
          </Show>
        </div>
      </div>
      <Switch fallback={<Register asked={asked()} />}>
        <Match when={name() === 'losses'}>
          <LossTable from={from()} to={to()} />
        </Match>
        <Match when={name() === 'yields'}>
          <YieldTable />
        </Match>
      </Switch>
    </>
  )
}

function Register(props: { readonly asked: RegisterAsked }) {
  const register = useRegister(() => props.asked)
  return (
    <Ask query={register} what="the register">
      {(answer) => <RegisterTable register={answer()} />}
    </Ask>
  )
}
