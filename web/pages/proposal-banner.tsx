import { A } from '@solidjs/router'
import { Show } from 'solid-js'
import { useSession } from '../session.tsx'
import { useProposals } from '../trial-queries.ts'

/** Says on every page that announced work waits for a word, to those who may give it. */
export function ProposalBanner() {
  const session = useSession()
  return (
    <Show when={session.leads()}>
      <Waiting />
    </Show>
  )
}

function Waiting() {
  const proposals = useProposals()
  const open = () => (proposals.dataUpdatedAt > 0 && proposals.data?.open) || undefined
  const count = () => open()?.moves.filter((move) => !move.applied).length ?? 0
  return (
    <Show when={count() > 0}>
      <p class="note no-print" role="status">
        The plan would change {count()} announced {count() === 1 ? 'task' : 'tasks'}: {open()?.because}.{' '}
        <A href="/changes">Look and decide</A>
      </p>
    </Show>
  )
}
