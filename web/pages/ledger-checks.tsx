import { For, Show } from 'solid-js'
import type { CheckWire } from '../../api/wire.ts'
import { post } from '../api.ts'
import { BookNav } from '../ledger/book-nav.tsx'
import { useChecks } from '../ledger/queries.ts'
import { Badge } from '../parts/badge.tsx'
import { Button } from '../parts/button.tsx'
import { Folio, PageHead } from '../parts/page-head.tsx'
import { Ask, Failed } from '../parts/states.tsx'
import { toast } from '../parts/toast.tsx'
import { useWrite } from '../queries.ts'
import { useSession } from '../session.tsx'

const RULE_WORDS: Readonly<Record<CheckWire['faults'][number]['rule'], string>> = {
  'below-zero': 'No vessel below nothing',
  'above-limit': 'No vessel above its limit',
  balance: 'What came in is what went out and what is there, to the millilitre',
  shares: 'Shares add up to the whole',
  addition: 'Every addition has product, amount and person',
  'stored-state': 'What is kept is what the movements tell',
  levels: 'Every level follows from the one before',
  entry: 'Every entry could have happened',
  dip: 'Dips agree with the book, or what differs is written down with its reason',
  cause: 'Every movement has a task or a reason',
}

/** The ledger checks itself every night, and whenever asked. */
export function LedgerChecks() {
  const session = useSession()
  const format = session.format
  const checks = useChecks()
  const run = useWrite(() => post<CheckWire>('/api/ledger/checks'))
  const now = async () => {
    try {
      const told = await run.mutateAsync(undefined)
      toast(told.ok ? 'The book holds.' : `${told.faults.length} faults found.`)
    } catch {
      // shown below
    }
  }
  return (
    <>
      <PageHead title="Ledger: checks" lede="The book is read through every night: does every litre add up?">
        <Show when={session.leads()}>
          <Button kind="main" pending={run.isPending} onClick={() => void now()}>
            Check now
          </Button>
        </Show>
      </PageHead>
      <BookNav />
      <Show when={run.error}>{(error) => <Failed error={error()} />}</Show>
      <Folio title="What is checked">
        <ul class="stack tight">
          <For each={Object.values(RULE_WORDS)}>{(words) => <li>{words}.</li>}</For>
        </ul>
      </Folio>
      <Folio title="What was found" note="Newest first.">
        <Ask query={checks} what="the checks">
          {(answer) => (
            <Show
              when={answer().checks.length > 0}
              fallback={<p class="quiet">Not checked yet. The first check runs tonight.</p>}
            >
              <table class="ledger folds">
                <thead>
                  <tr>
                    <th>When</th>
                    <th>Found</th>
                    <th class="n">Movements read</th>
                    <th class="n">Took</th>
                  </tr>
                </thead>
                <tbody>
                  <For each={answer().checks}>
                    {(check) => (
                      <tr classList={{ bad: !check.ok }}>
                        <td class="nowrap first">
                          {format().dayYear(check.at)} {format().time(check.at)}
                        </td>
                        <td>
                          <Show when={!check.ok} fallback="The book holds">
                            <ul class="stack tight">
                              <For each={check.faults}>
                                {(fault) => (
                                  <li>
                                    <Badge kind="late">{RULE_WORDS[fault.rule]}</Badge> {fault.vesselCode} {fault.words}
                                  </li>
                                )}
                              </For>
                            </ul>
                          </Show>
                          <Show when={check.accepted.length > 0}>
                            <details>
                              <summary>
                                {check.accepted.length} {check.accepted.length === 1 ? 'difference' : 'differences'}{' '}
                                accepted
                              </summary>
                              <ul class="stack tight small">
                                <For each={check.accepted}>
                                  {(one) => (
                                    <li>
                                      {one.words} Written down as {one.accepted.words}.
                                    </li>
                                  )}
                                </For>
                              </ul>
                            </details>
                          </Show>
                        </td>
                        <td class="n" data-label="movements read">
                          {format().number(check.movements)}
                        </td>
                        <td class="n" data-label="took">
                          {format().number(check.tookMs)} ms
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
    </>
  )
}
