import { useNavigate, useSearchParams } from '@solidjs/router'
import { createSignal, For, Match, Show, Switch } from 'solid-js'
import { post } from '../api.ts'
import { Badge } from '../parts/badge.tsx'
import { Button } from '../parts/button.tsx'
import { Folio, PageHead } from '../parts/page-head.tsx'
import { ScrollX } from '../parts/scroll-x.tsx'
import { Ask, Failed } from '../parts/states.tsx'
import { TaskPanel } from '../parts/task-panel.tsx'
import { toastError } from '../parts/toast.tsx'
import { useWrite } from '../queries.ts'
import { useSession } from '../session.tsx'
import { type AnswerWire, type QuestionWire, type TrialWire, useAnswer, useQuestions } from '../trial-queries.ts'
import { type Fields, NeedsForm } from './ask-form.tsx'

/** Questions in plain words, each with the little it needs to know; answers in sentences with numbers. */
export function AskPage() {
  const questions = useQuestions()
  return (
    <>
      <PageHead title="Ask" lede="The plan answers, with its numbers and the tasks they come from." />
      <Ask query={questions} what="the questions">
        {(answer) => <Asking questions={answer().questions} />}
      </Ask>
    </>
  )
}

function Asking(props: { readonly questions: readonly QuestionWire[] }) {
  const [params, setParams] = useSearchParams<{ q?: string; task?: string; person?: string; lot?: string }>()
  const chosen = () => props.questions.find((one) => one.id === params.q)
  const [asked, setAsked] = createSignal<{ readonly id: string; readonly fields: Fields }>()
  const current = () => (asked()?.id === chosen()?.id ? asked() : undefined)
  const answer = useAnswer(
    () => current()?.id,
    () => current()?.fields ?? {},
  )
  const [open, setOpen] = createSignal<string>()
  let place: HTMLDivElement | undefined
  return (
    <>
      <Folio title="Question">
        <ul class="questions">
          <For each={props.questions}>
            {(one) => (
              <li>
                <button
                  type="button"
                  class="link"
                  aria-pressed={one.id === params.q}
                  onClick={() => {
                    setParams({ q: one.id })
                    // On a phone the answer lies below eighteen questions.
                    queueMicrotask(() => place?.scrollIntoView({ block: 'start' }))
                    // What needs nothing is answered at once.
                    if (one.needs.every((need) => need.endsWith('?'))) setAsked({ id: one.id, fields: {} })
                  }}
                >
                  {one.words}
                </button>
              </li>
            )}
          </For>
        </ul>
      </Folio>
      <Show when={chosen()} keyed>
        {(question) => (
          <div ref={place} class="asked">
            <Folio title={question.words}>
              <Show when={question.needs.length > 0}>
                <NeedsForm
                  needs={question.needs}
                  tasks={TASKS[question.id] ?? 'open'}
                  given={{ task: params.task ?? '', person: params.person ?? '', lot: params.lot ?? '' }}
                  ask={(fields) => setAsked({ id: question.id, fields })}
                />
              </Show>
              <Switch>
                <Match when={current() && answer.isFetching}>
                  <p class="loading" role="status">
                    Working it out …
                  </p>
                </Match>
                <Match when={current() && answer.isError}>
                  <Failed error={answer.error} again={() => void answer.refetch()} />
                </Match>
                <Match when={current() && answer.dataUpdatedAt > 0 && answer.data}>
                  {(told) => <Told answer={told()} open={setOpen} />}
                </Match>
              </Switch>
            </Folio>
          </div>
        )}
      </Show>
      <Show when={open()}>
        {(key) => <TaskPanel taskKey={key()} onClose={() => setOpen(undefined)} onOpen={setOpen} />}
      </Show>
    </>
  )
}

/** Which tasks a question is asked about; else any that is still to be done. */
const TASKS: Readonly<Record<string, 'moved' | 'broken'>> = { 'why-moved': 'moved', 'ways-out': 'broken' }

const VERDICTS = { yes: 'Yes', no: 'No', 'with-changes': 'With changes' } as const

/** Sentences that are shown where the table below tells the others. */
const TABLE_TELLS: Readonly<Record<string, number>> = { 'before-home': 1 }

/** Where the sentences tell what is in the table, it is folded away under this name. */
const ALL_TOLD: Readonly<Record<string, string>> = { 'why-then': 'Link by link', 'free-tank': 'Every tank' }

function Told(props: { readonly answer: AnswerWire; readonly open: (key: string) => void }) {
  const session = useSession()
  const navigate = useNavigate()
  const keep = useWrite((changes: AnswerWire['tried']) =>
    post<{ trial: TrialWire }>('/api/trials', { opId: crypto.randomUUID(), changes }),
  )
  const keepIt = async () => {
    try {
      const { trial } = await keep.mutateAsync(props.answer.tried)
      navigate(`/what-if/${trial.id}`)
    } catch (error) {
      toastError(error)
    }
  }
  const sentences = () => props.answer.sentences.slice(0, TABLE_TELLS[props.answer.question])
  return (
    <div class="stack" data-answer={props.answer.question}>
      <Show when={props.answer.verdict}>
        {(verdict) => (
          <p>
            <Badge kind={verdict() === 'no' ? 'late' : 'strong'}>{VERDICTS[verdict()]}</Badge>
          </p>
        )}
      </Show>
      <div class="stack tight prose" role="status">
        <For each={sentences()}>{(sentence) => <p>{sentence}</p>}</For>
      </div>
      <Show when={props.answer.table && props.answer.table.rows.length > 0 && props.answer.table}>
        {(table) => (
          <Show when={ALL_TOLD[props.answer.question]} fallback={<Figures table={table()} open={props.open} />}>
            {(title) => (
              <details>
                <summary>{title()}</summary>
                <Figures table={table()} open={props.open} />
              </details>
            )}
          </Show>
        )}
      </Show>
      <Show when={props.answer.tried?.length && session.leads()}>
        <div class="row">
          <Button pending={keep.isPending} onClick={() => void keepIt()}>
            Keep it as a trial and compare
          </Button>
        </div>
      </Show>
    </div>
  )
}

/** A table on a desk; on a phone each row is a block, its figures with their names. */
function Figures(props: { readonly table: NonNullable<AnswerWire['table']>; readonly open: (key: string) => void }) {
  const opens = () => props.table.rows.some((row) => row.taskKey)
  return (
    <ScrollX label="The answer in figures">
      <table class="ledger folds">
        <thead>
          <tr>
            <For each={props.table.head}>{(word) => <th>{word}</th>}</For>
            <Show when={opens()}>
              <th>
                <span class="visually-hidden">Task</span>
              </th>
            </Show>
          </tr>
        </thead>
        <tbody>
          <For each={props.table.rows}>
            {(row) => (
              <tr>
                <For each={row.cells}>
                  {(cell, at) => (
                    <Show
                      when={at() > 0}
                      fallback={
                        <th scope="row" class="first" data-label={props.table.head[0]}>
                          {cell}
                        </th>
                      }
                    >
                      <td data-label={props.table.head[at()]}>{cell}</td>
                    </Show>
                  )}
                </For>
                <Show when={opens()}>
                  <td>
                    <Show when={row.taskKey}>
                      {(key) => (
                        <button type="button" class="link" onClick={() => props.open(key())}>
                          Open<span class="visually-hidden"> {row.cells.join(', ')}</span>
                        </button>
                      )}
                    </Show>
                  </td>
                </Show>
              </tr>
            )}
          </For>
        </tbody>
      </table>
    </ScrollX>
  )
}
