import { useSearchParams } from '@solidjs/router'
import { createSignal, Show } from 'solid-js'
import { problemOf } from '../api.ts'
import { momentIn } from '../ledger/as-it-was.tsx'
import { BookNav } from '../ledger/book-nav.tsx'
import { EnteredNote } from '../ledger/entered-note.tsx'
import { BLANK_ENTRY, bodyOf, type Entry, type EntryKind, KIND_WORDS, nextTarget, wrongOf } from '../ledger/entry.ts'
import { EntryFields } from '../ledger/entry-fields.tsx'
import { MovementTable } from '../ledger/movement-table.tsx'
import { type Sent, sendEntry, takeBack, useMovements, useStock } from '../ledger/queries.ts'
import { sayLitres, sayMovement } from '../ledger/words.ts'
import { Button } from '../parts/button.tsx'
import { Folio, PageHead } from '../parts/page-head.tsx'
import { Ask, Empty, Failed } from '../parts/states.tsx'
import { toast, toastError } from '../parts/toast.tsx'
import { useWrite } from '../queries.ts'
import { useSession } from '../session.tsx'

const TAKEN_BACK = 'Written by mistake, taken back at once'

const kindFrom = (word: string | undefined): EntryKind =>
  word !== undefined && word in KIND_WORDS ? (word as EntryKind) : 'move'

/** One movement written down: looked at first where wine meets other wine, taken back within the minute if wrong. */
export function LedgerEntry() {
  const session = useSession()
  const format = session.format
  const [search] = useSearchParams<{ kind?: string; from?: string; to?: string; planned?: string }>()
  const [entry, setEntry] = createSignal<Entry>({
    ...BLANK_ENTRY,
    kind: kindFrom(search.kind),
    from: search.from ?? '',
    to: search.to ?? '',
    plannedL: search.planned ? Number(search.planned) : undefined,
  })
  const [tried, setTried] = createSignal(false)
  const stock = useStock(() => momentIn(entry().wall, session.cellar().zone))
  const latest = useMovements(() => ({ limit: '8' }))
  const held = () => (stock.dataUpdatedAt > 0 ? stock.data : undefined)
  const look = useWrite((sent: Sent) => sendEntry(sent))
  const write = useWrite((sent: Sent) => sendEntry(sent))
  const back = useWrite((movements: Parameters<typeof takeBack>[0]) => takeBack(movements, TAKEN_BACK))
  const change = (part: Partial<Entry>) => {
    look.reset()
    write.reset()
    setEntry((now) => ({ ...now, ...part }))
  }
  const isOther = () => write.isError && problemOf(write.error).type === 'another-lot-there'
  const wrong = () => wrongOf(entry(), held(), (volumeL) => sayLitres(format(), volumeL))

  const preview = async (intoOther: boolean) => {
    setTried(true)
    if (Object.keys(wrong()).length > 0) return
    try {
      await look.mutateAsync({ path: '/movements', body: bodyOf(entry(), intoOther), preview: true })
    } catch {
      // shown below
    }
  }
  const send = async (intoOther: boolean) => {
    setTried(true)
    if (Object.keys(wrong()).length > 0) return
    try {
      const told = await write.mutateAsync({ path: '/movements', body: bodyOf(entry(), intoOther) })
      const [first] = told.movements
      toast(first ? `${sayMovement(format(), first)}.` : 'Written down.', () => {
        back.mutateAsync(told.movements).then(() => toast('Taken back. Both entries stay in the book.'), toastError)
      })
      for (const words of told.warnings) toast(words)
      goOn()
    } catch {
      // What comes in is other wine: its new shares are shown before it may be written.
      if (isOther()) await preview(true)
    }
  }
  /** The next one of the same kind; topping goes on along the row. */
  const goOn = () => {
    const now = entry()
    const next =
      now.kind === 'top' && held()
        ? nextTarget(held() ?? { at: '', contents: [], lots: [], totalL: 0 }, now.to, now.from)
        : ''
    setTried(false)
    look.reset()
    setEntry({
      ...BLANK_ENTRY,
      kind: now.kind,
      people: now.people,
      wall: now.wall,
      cause: now.cause,
      ...(now.kind === 'top' ? { from: now.from, to: next, volumeL: now.volumeL } : {}),
    })
  }

  return (
    <>
      <PageHead title="Ledger: write a movement" lede="A wrong entry is taken back by a second one, never erased." />
      <BookNav />
      <Show
        when={session.works()}
        fallback={
          <Empty title="Not for this sign-in">
            <p>Whoever works in the cellar writes its movements.</p>
          </Empty>
        }
      >
        <Folio title="New" note="Litres as they were measured.">
          <Ask query={stock} what="the stock">
            {() => (
              <form
                class="stack"
                aria-label="A movement"
                onSubmit={(event) => {
                  event.preventDefault()
                  void send(false)
                }}
              >
                <EntryFields
                  entry={entry()}
                  change={change}
                  stock={held()}
                  error={look.error ?? write.error}
                  tried={tried()}
                />
                <Show when={look.data}>{(entered) => <EnteredNote entered={entered()} />}</Show>
                <Show when={look.error ?? write.error}>{(error) => <Failed error={error()} />}</Show>
                <div class="row">
                  <Button
                    pending={look.isPending}
                    onClick={() => void preview(isOther() || entry().kind === 'blend' || entry().kind === 'top')}
                  >
                    Look first
                  </Button>
                  <Show
                    when={isOther()}
                    fallback={
                      <Button kind="main" type="submit" pending={write.isPending}>
                        Write it down
                      </Button>
                    }
                  >
                    <Button kind="main" pending={write.isPending} disabled={!look.data} onClick={() => void send(true)}>
                      It is meant so: write it down
                    </Button>
                  </Show>
                </div>
              </form>
            )}
          </Ask>
        </Folio>
      </Show>
      <Folio title="Written last">
        <Ask query={latest} what="the movements">
          {(answer) => <MovementTable movements={answer().movements} none="Nothing has been moved yet." />}
        </Ask>
      </Folio>
    </>
  )
}
