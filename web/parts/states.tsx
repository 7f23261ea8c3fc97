import type { UseQueryResult } from '@tanstack/solid-query'
import { type JSX, Match, Show, Switch } from 'solid-js'
import { type Problem, problemOf } from '../api.ts'
import { problemTitle } from '../words/problems.ts'
import { say, tongue } from '../words/words.ts'
import { Button } from './button.tsx'

/** Nothing here yet, and what to do about it. */
export function Empty(props: { readonly title: string; readonly children?: JSX.Element }) {
  return (
    <div class="empty">
      <h2>{props.title}</h2>
      {props.children}
    </div>
  )
}

export function Loading(props: { readonly what?: string }) {
  return (
    <p class="loading" role="status">
      {say('readingWhat', { what: props.what ?? say('theBook') })}
    </p>
  )
}

/** A refusal in the server's own words, each field named. */
export function Failed(props: { readonly error: unknown; readonly again?: () => void }) {
  const problem = (): Problem => problemOf(props.error)
  return (
    <div class="note bad" role="alert">
      <p>
        <strong>{problemTitle(problem())}</strong>
      </p>
      <Show when={problem().detail && !(problem().type === 'offline' && tongue() !== 'en')}>
        <p>{problem().detail}</p>
      </Show>
      <Show when={problem().errors?.length}>
        <ul>
          {problem().errors?.map((wrong) => (
            <li>
              <b>{fieldName(wrong.pointer)}</b> {wrong.detail}
            </li>
          ))}
        </ul>
      </Show>
      <Show when={props.again}>
        {(again) => (
          <Button class="no-print" onClick={() => again()()}>
            {say('tryAgain')}
          </Button>
        )}
      </Show>
    </div>
  )
}

/** `#/rows/0/volumeL` as a person reads it: `rows 1 volume`. Units stand with the field. */
const fieldName = (pointer: string): string =>
  pointer
    .split('/')
    .slice(1)
    .map((part) => (/^\d+$/.test(part) ? `${Number(part) + 1}` : wordsOf(part)))
    .join(' ')

const wordsOf = (name: string): string =>
  name
    .replace(/(?<=[a-z0-9])(Min|Ms|MgL|GL|Ml|Kg|Pct|C|L|T|At|Id)$/, '')
    .replace(/([a-z0-9])([A-Z])/g, (_, a: string, b: string) => `${a} ${b.toLowerCase()}`)

export const wrongAt = (error: unknown, pointer: string): string | undefined =>
  error ? problemOf(error).errors?.find((entry) => entry.pointer === pointer)?.detail : undefined

/** What was asked for, or why it is not here. What was read last stays on screen when asking again fails. */
export function Ask<Answer>(props: {
  readonly query: UseQueryResult<Answer, Error>
  readonly what?: string
  readonly children: (answer: () => Answer) => JSX.Element
}) {
  return (
    <Switch fallback={<Loading what={props.what} />}>
      <Match when={props.query.isError && !props.query.isSuccess && props.query.error && !hasData(props.query)}>
        <Failed error={props.query.error} again={() => void props.query.refetch()} />
      </Match>
      <Match when={hasData(props.query)}>
        <Show when={props.query.isError && problemOf(props.query.error).type !== 'offline'}>
          <Failed error={props.query.error} again={() => void props.query.refetch()} />
        </Show>
        {props.children(() => props.query.data as Answer)}
      </Match>
    </Switch>
  )
}

// Asking `data` while nothing is there would suspend the whole page, so look at the time stamp first.
const hasData = (query: { readonly dataUpdatedAt: number; readonly isPlaceholderData: boolean }): boolean =>
  query.dataUpdatedAt > 0 || query.isPlaceholderData
