import { createSignal, For, Show } from 'solid-js'
import type { ProposedMove } from '../../api/wire.ts'
import { post } from '../api.ts'
import { Button } from '../parts/button.tsx'
import { TextField } from '../parts/field.tsx'
import { Folio, PageHead } from '../parts/page-head.tsx'
import { Ask, Empty } from '../parts/states.tsx'
import { TaskPanel } from '../parts/task-panel.tsx'
import { toast, toastError } from '../parts/toast.tsx'
import { usePeople, useWrite } from '../queries.ts'
import { useSession } from '../session.tsx'
import { type ProposalWire, useProposals } from '../trial-queries.ts'
import { LATER_WORDS, startWords } from '../when.ts'

/** "The plan would change": moves of work that people have been told of, to agree to or to refuse. */
export function ProposalPage() {
  const proposals = useProposals()
  const [open, setOpen] = createSignal<string>()
  return (
    <>
      <PageHead
        title="Changes"
        lede="Work of today and tomorrow is announced: it moves only when somebody agrees, or when it cannot wait."
      />
      <Ask query={proposals} what="the changes">
        {(answer) => (
          <>
            <Show when={answer().open} keyed fallback={<Nothing />}>
              {(proposal) => <Decide proposal={proposal} open={setOpen} />}
            </Show>
            <Show when={answer().earlier.length > 0}>
              <Folio title="Earlier" note="Newest first">
                <For each={answer().earlier}>{(proposal) => <Earlier proposal={proposal} open={setOpen} />}</For>
              </Folio>
            </Show>
          </>
        )}
      </Ask>
      <Show when={open()}>
        {(key) => <TaskPanel taskKey={key()} onClose={() => setOpen(undefined)} onOpen={setOpen} />}
      </Show>
    </>
  )
}

const Nothing = () => (
  <Folio title="To decide">
    <Empty title="Nothing to decide">
      <p>The plan asks for no move of announced work.</p>
    </Empty>
  </Folio>
)

function Decide(props: { readonly proposal: ProposalWire; readonly open: (key: string) => void }) {
  const session = useSession()
  const waiting = () => props.proposal.moves.filter((move) => !move.applied)
  const applied = () => props.proposal.moves.filter((move) => move.applied)
  const [no, setNo] = createSignal<ReadonlySet<string>>(new Set())
  const [reason, setReason] = createSignal('')
  const accepted = () => waiting().filter((move) => !no().has(move.key))
  const write = useWrite((accept: readonly string[]) =>
    post<{ proposal: ProposalWire }>(`/api/proposals/${props.proposal.id}/decide`, { accept, reason: reason() }),
  )
  const decide = async (accept: readonly string[]) => {
    try {
      const { proposal } = await write.mutateAsync(accept)
      toast(SAID[proposal.state])
    } catch (error) {
      toastError(error)
    }
  }
  const tick = (key: string, moves: boolean) =>
    setNo((now) => {
      const next = new Set(now)
      if (moves) next.delete(key)
      else next.add(key)
      return next
    })
  return (
    <>
      <Folio title="To decide" note={`${session.format().moment(props.proposal.madeAt)}: ${props.proposal.because}`}>
        <p>
          The plan would change {waiting().length} announced {waiting().length === 1 ? 'task' : 'tasks'}. What you
          untick stays where it is, pinned.
        </p>
        <MoveTable
          moves={waiting()}
          open={props.open}
          {...(session.leads() ? { ticked: (key: string) => !no().has(key), tick } : {})}
        />
        <Show when={session.leads()} fallback={<p class="quiet">A winemaker decides.</p>}>
          <TextField label="Why, if you refuse" value={reason()} onInput={setReason} maxLength={200} />
          <div class="row">
            <Button kind="main" pending={write.isPending} onClick={() => void decide(accepted().map((m) => m.key))}>
              {accepted().length === waiting().length ? 'Agree to all' : `Agree to ${accepted().length}, pin the rest`}
            </Button>
            <Button pending={write.isPending} onClick={() => void decide([])}>
              Refuse all
            </Button>
          </div>
        </Show>
      </Folio>
      <Show when={applied().length > 0}>
        <Folio title="Moved already" note="It could not wait: a hard limit, the wine itself, or somebody is away">
          <MoveTable moves={applied()} open={props.open} />
        </Folio>
      </Show>
    </>
  )
}

const SAID: Readonly<Record<ProposalWire['state'], string>> = {
  open: 'Not decided',
  accepted: 'Agreed: the plan has changed',
  partly: 'Agreed in part; the rest is pinned',
  refused: 'Refused: all stays where it was',
  passed: 'Passed: the plan no longer asks',
}

function MoveTable(props: {
  readonly moves: readonly ProposedMove[]
  readonly open: (key: string) => void
  readonly ticked?: (key: string) => boolean
  readonly tick?: (key: string, moves: boolean) => void
}) {
  const session = useSession()
  const people = usePeople()
  const nameOf = (id: string) =>
    (people.dataUpdatedAt > 0 && people.data?.people.find((one) => one.id === id)?.name) || id
  const names = (ids: readonly string[]) => ids.map(nameOf).join(', ') || 'nobody'
  return (
    <table class="ledger folds">
      <thead>
        <tr>
          <Show when={props.tick}>
            <th>Moves</th>
          </Show>
          <th>Work</th>
          <th>From</th>
          <th>To</th>
          <th>By</th>
          <th>Why</th>
        </tr>
      </thead>
      <tbody>
        <For each={props.moves}>
          {(move) => (
            <tr>
              <Show when={props.tick}>
                {(tick) => (
                  <td>
                    <input
                      type="checkbox"
                      aria-label={`${move.lotCode} ${move.name} moves`}
                      checked={props.ticked?.(move.key) ?? true}
                      onChange={(event) => tick()(move.key, event.currentTarget.checked)}
                    />
                  </td>
                )}
              </Show>
              <th scope="row">
                <button type="button" class="link" onClick={() => props.open(move.key)}>
                  {move.lotCode === 'house' ? '' : `${move.lotCode} `}
                  {move.name}
                </button>
              </th>
              <td class="nowrap" data-label="From">
                {session.format().moment(move.fromStartAt)}
              </td>
              <td class="nowrap" data-label="To">
                {move.toStartAt === move.fromStartAt
                  ? 'same time'
                  : startWords({ startAt: move.toStartAt, grain: move.toGrain ?? 'minute' }, session.format())}
              </td>
              <td data-label="By">
                {move.fromPeople.join() === move.toPeople.join()
                  ? names(move.toPeople)
                  : `${names(move.fromPeople)} → ${move.toGrain === 'day' ? LATER_WORDS : names(move.toPeople)}`}
              </td>
              <td class="small">{move.why}</td>
            </tr>
          )}
        </For>
      </tbody>
    </table>
  )
}

function Earlier(props: { readonly proposal: ProposalWire; readonly open: (key: string) => void }) {
  const session = useSession()
  const people = usePeople()
  const nameOf = (id: string | undefined) =>
    (people.dataUpdatedAt > 0 && people.data?.people.find((one) => one.id === id)?.name) || ''
  const isAll = () => props.proposal.moves.every((move) => move.applied)
  return (
    <details>
      <summary>
        {session.format().moment(props.proposal.madeAt)}: {props.proposal.because}.{' '}
        <span class="quiet">
          {isAll() ? `${props.proposal.moves.length} moved at once` : SAID[props.proposal.state]}
          {props.proposal.decidedBy ? `, ${nameOf(props.proposal.decidedBy)}` : ''}
        </span>
      </summary>
      <MoveTable moves={props.proposal.moves} open={props.open} />
      <Show when={props.proposal.refused.length > 0}>
        <p class="small">Pinned where they were: {props.proposal.refused.join(', ')}</p>
      </Show>
    </details>
  )
}
