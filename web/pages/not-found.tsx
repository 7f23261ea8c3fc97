import { A } from '@solidjs/router'
import { Empty } from '../parts/states.tsx'

export function NotFound() {
  return (
    <Empty title="There is no such page">
      <p>
        The address may be old. <A href="/season">The season</A> and <A href="/today">today’s work</A> are still there.
      </p>
    </Empty>
  )
}
