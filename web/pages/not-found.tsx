import { A } from '@solidjs/router'
import { PageHead } from '../parts/page-head.tsx'

export function NotFound() {
  return (
    <>
      <PageHead title="There is no such page" />
      <p>
        The address may be old. <A href="/season">The season</A> and <A href="/today">today’s work</A> are still there.
      </p>
    </>
  )
}
