import { useNavigate, useSearchParams } from '@solidjs/router'
import { For, Show } from 'solid-js'
import { Badge } from '../parts/badge.tsx'
import { Folio, PageHead } from '../parts/page-head.tsx'
import { Ask, Empty } from '../parts/states.tsx'
import { useSession } from '../session.tsx'
import { type TrialWire, useTrials } from '../trial-queries.ts'
import { type Asked, TrialForms } from './trial-forms.tsx'

/** Changes tried on a copy of the cellar: what would move, what would break, when would it be ready. */
export function WhatIf() {
  const session = useSession()
  const trials = useTrials()
  const navigate = useNavigate()
  const [params] = useSearchParams<{ ask?: Asked; lot?: string; person?: string }>()
  return (
    <>
      <PageHead title="What if" lede="Tried on a copy. Nothing real changes until you adopt it." />
      <Show when={session.leads()}>
        <Folio title="Try something" note="One question at a time; a trial is kept so that others can look at it">
          <TrialForms
            made={(trial) => navigate(`/what-if/${trial.id}`)}
            {...(params.ask ? { ask: params.ask } : {})}
            {...(params.lot ? { lot: params.lot } : {})}
            {...(params.person ? { person: params.person } : {})}
          />
        </Folio>
      </Show>
      <Ask query={trials} what="the trials">
        {(answer) => (
          <Folio title="Trials" note={`${answer().trials.length} kept`}>
            <Show
              when={answer().trials.length > 0}
              fallback={
                <Empty title="Nothing tried yet">
                  <p>
                    <Show when={session.leads()} fallback="Whoever leads can try a change here.">
                      Ask one of the questions above: the answer shows each task that would move, and why.
                    </Show>
                  </p>
                </Empty>
              }
            >
              <table class="ledger folds">
                <thead>
                  <tr>
                    <th>What if</th>
                    <th>Tried</th>
                    <th>Came to</th>
                  </tr>
                </thead>
                <tbody>
                  <For each={answer().trials}>
                    {(trial) => (
                      <tr>
                        <th scope="row">
                          <a href={`/what-if/${trial.id}`}>{trial.name}</a>
                        </th>
                        <td data-label="Tried">{session.format().moment(trial.createdAt)}</td>
                        <td data-label="Came to">
                          <TrialState trial={trial} />
                        </td>
                      </tr>
                    )}
                  </For>
                </tbody>
              </table>
            </Show>
          </Folio>
        )}
      </Ask>
    </>
  )
}

const STATE_WORDS: Readonly<Record<TrialWire['state'], string>> = {
  open: 'Not decided',
  adopted: 'Adopted',
  dropped: 'Dropped',
  undone: 'Adopted, taken back',
}

export function TrialState(props: { readonly trial: TrialWire }) {
  return (
    <Badge {...(props.trial.state === 'adopted' ? { kind: 'strong' as const } : {})}>
      {STATE_WORDS[props.trial.state]}
    </Badge>
  )
}
