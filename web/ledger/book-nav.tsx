import { A, useLocation } from '@solidjs/router'
import { For } from 'solid-js'

const PAGES = [
  { href: '/ledger', word: 'Stock' },
  { href: '/ledger/entry', word: 'Write a movement' },
  { href: '/ledger/movements', word: 'Movements' },
  { href: '/ledger/trace', word: 'Trace' },
  { href: '/ledger/registers', word: 'Registers' },
  { href: '/ledger/count', word: 'Stock count' },
  { href: '/ledger/opening', word: 'Opening stock' },
  { href: '/ledger/checks', word: 'Checks' },
] as const

/** The ledger's own index, under the head of each of its pages. */
export function BookNav() {
  const location = useLocation()
  return (
    <nav class="book-nav no-print" aria-label="Ledger">
      <For each={PAGES}>
        {(page) => (
          <A href={page.href} end aria-current={location.pathname === page.href ? 'page' : undefined}>
            {page.word}
          </A>
        )}
      </For>
    </nav>
  )
}
