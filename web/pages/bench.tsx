import { A, useParams } from '@solidjs/router'
import { useQuery } from '@tanstack/solid-query'
import { createMemo, createSignal, For, Show } from 'solid-js'
import { get } from '../api.ts'
import { Badge } from '../parts/badge.tsx'
import { TextField } from '../parts/field.tsx'
import { Folio, PageHead } from '../parts/page-head.tsx'
import { Ask, Empty } from '../parts/states.tsx'
import { BenchSheet, type Calculation, TOPIC_WORDS } from './bench-sheet.tsx'

/** The bench: each calculation of the cellar with its own form, its arithmetic and its source. */
export function Bench() {
  const params = useParams<{ name?: string }>()
  const calculations = useQuery(() => ({
    queryKey: ['calculations'],
    queryFn: () => get<{ calculations: readonly Calculation[] }>('/api/calc'),
    staleTime: Number.POSITIVE_INFINITY,
  }))
  return (
    <Ask query={calculations} what="the bench">
      {(answer) => (
        <Show when={params.name} keyed fallback={<List calculations={answer().calculations} />}>
          {(name) => (
            <Show
              when={answer().calculations.find((entry) => entry.name === name)}
              fallback={
                <Empty title="There is no such calculation">
                  <p>
                    <A href="/bench">All calculations</A>
                  </p>
                </Empty>
              }
            >
              {(calculation) => <BenchSheet calculation={calculation()} />}
            </Show>
          )}
        </Show>
      )}
    </Ask>
  )
}

function List(props: { readonly calculations: readonly Calculation[] }) {
  const [find, setFind] = createSignal('')
  const found = createMemo(() =>
    props.calculations.filter((entry) =>
      `${entry.title} ${entry.name} ${TOPIC_WORDS[entry.topic]}`.toLowerCase().includes(find().toLowerCase()),
    ),
  )
  const topics = () => [...new Set(found().map((entry) => entry.topic))]
  return (
    <>
      <PageHead
        title="Bench"
        lede="Sums of the cellar with their arithmetic and their source. What you type stays on this device; nothing is written into the book."
      >
        <TextField label="Find" value={find()} onInput={setFind} />
      </PageHead>
      <For each={topics()} fallback={<Empty title="No calculation has that in its name" />}>
        {(topic) => (
          <Folio title={TOPIC_WORDS[topic]}>
            <ul class="index">
              <For each={found().filter((entry) => entry.topic === topic)}>
                {(entry) => (
                  <li>
                    <A href={`/bench/${entry.name}`}>{entry.title}</A>
                    <Show when={entry.hasMemory}>
                      {' '}
                      <Badge>{entry.status === 'memory' ? 'memory' : 'partly memory'}</Badge>
                    </Show>
                  </li>
                )}
              </For>
            </ul>
          </Folio>
        )}
      </For>
    </>
  )
}
