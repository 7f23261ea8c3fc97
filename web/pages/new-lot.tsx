import { useNavigate, useSearchParams } from '@solidjs/router'
import { createEffect, createMemo, createSignal, For, Show } from 'solid-js'
import { type Choices, choices as choicesSchema, type Style } from '../../api/protocol/choices.ts'
import { findConflicts } from '../../api/protocol/conflicts.ts'
import { defaultsFor, differences } from '../../api/protocol/defaults.ts'
import { STYLE_NOTES } from '../../api/protocol/notes.ts'
import type { LotWire } from '../../api/wire.ts'
import { post } from '../api.ts'
import { Button } from '../parts/button.tsx'
import { Select, TextField } from '../parts/field.tsx'
import { Folio, PageHead } from '../parts/page-head.tsx'
import { Failed, wrongAt } from '../parts/states.tsx'
import { toast } from '../parts/toast.tsx'
import { useLots, useProtocols, useWrite } from '../queries.ts'
import { useSession } from '../session.tsx'
import { ChoicesForm, StylePick } from './choices-form.tsx'
import { allFound, type FoundConflict, type Signed, unsigned } from './conflict-notes.tsx'
import { FruitFields } from './fruit-fields.tsx'
import { MainDates } from './main-dates.tsx'

type Fruit = LotWire['fruit']

/** A sound white must of a mild year; every figure is meant to be overwritten by the block's own. Common practice. */
const USUAL_FRUIT: Fruit = {
  tonnes: 5,
  brix: 21,
  pH: 3.2,
  acidGPerLTartaric: 7,
  malicGPerL: 2.5,
  yanMgPerL: 180,
  fruitTempC: 16,
  rotPct: 0,
  yieldLPerT: 600,
}

interface Draft {
  /** As typed; until then the first free one is offered. */
  readonly code?: string
  readonly name: string
  readonly variety: string
  readonly block: string
  readonly place: string
  readonly pickOn: string
  readonly fruit: Partial<Fruit>
}

/** Fruit and a style, then as many of the 25 answers as differ; the dates stand beside them before anything is kept. */
export function NewLot() {
  const session = useSession()
  const navigate = useNavigate()
  const [search] = useSearchParams<{ protocol?: string }>()
  const lots = useLots()
  const protocols = useProtocols()
  const [draft, setDraft] = createSignal<Draft>({
    name: '',
    variety: '',
    block: '',
    place: '',
    pickOn: session.dayFromNow(1),
    fruit: USUAL_FRUIT,
  })
  const [choices, setChoices] = createSignal<Choices>(defaultsFor('crisp'))
  const [signed, setSigned] = createSignal<readonly Signed[]>([])
  const change = (part: Partial<Draft>) => setDraft((now) => ({ ...now, ...part }))
  const fruit = (part: Partial<Fruit>) => setDraft((now) => ({ ...now, fruit: { ...now.fruit, ...part } }))
  const whole = (): Fruit | undefined => {
    const given = draft().fruit
    return Object.keys(USUAL_FRUIT).every((key) => given[key as keyof Fruit] !== undefined)
      ? (given as Fruit)
      : undefined
  }

  // The first free code is offered once the lots are known and stays; it can be typed over.
  const [offered, setOffered] = createSignal<string>()
  createEffect(() => {
    if (offered() !== undefined || !(lots.dataUpdatedAt > 0)) return
    setOffered(nextCode((lots.data?.lots ?? []).map((lot) => lot.code)))
  })
  const code = () => draft().code ?? offered() ?? ''
  // Once: protocols are read again while answers are changed here.
  let isCopied = false
  createEffect(() => {
    const wanted = search.protocol
    const found =
      wanted && protocols.dataUpdatedAt > 0 && protocols.data?.protocols.find((entry) => entry.id === wanted)
    if (!found || isCopied) return
    isCopied = true
    setChoices(found.choices)
  })

  const [there, setThere] = createSignal<readonly FoundConflict[]>([])
  const found = createMemo(() => {
    const given = whole()
    const here = given
      ? findConflicts({ choices: choices(), fruit: given, volumeL: given.tonnes * given.yieldLPerT, latest: {} })
      : []
    return allFound(here, there())
  })
  const blocks = () => unsigned(found(), signed())
  const fits = createMemo(() => choicesSchema.safeParse(choices()).success)
  /** What has to be given before the lot can be entered, in the words of the fields. */
  const missing = () => {
    const { name, variety, pickOn } = draft()
    const texts = { 'a code': code(), 'a name': name, 'a variety': variety, 'the day of picking': pickOn }
    return [
      ...Object.entries(texts).flatMap(([words, text]) => (text.trim() === '' ? [words] : [])),
      ...(whole() ? [] : ['the figures of the fruit']),
      ...(fits() ? [] : ['every choice']),
    ]
  }
  const ready = () => missing().length === 0
  // One lot a form, however often it is sent.
  const opId = crypto.randomUUID()
  const save = useWrite(() =>
    post<{ lot: LotWire }>('/api/lots', {
      opId,
      ...draft(),
      code: code(),
      choices: choices(),
      signed: signed(),
    }),
  )
  const send = async () => {
    try {
      const answer = await save.mutateAsync(undefined)
      toast(`${answer.lot.code} ${answer.lot.name} is in the book, with its work.`)
      navigate(`/lots/${answer.lot.id}`)
    } catch {
      // shown beside the button, each field named
    }
  }
  const format = session.format
  const different = () => differences(choices(), defaultsFor(choices().style)).length

  return (
    <form
      onSubmit={(event) => {
        event.preventDefault()
        void send()
      }}
    >
      <PageHead
        title="New lot"
        lede="Fruit and a style first; then the answers that are your own. The dates appear below at once."
      />

      <Folio title="Fruit" note="What the block or the scale says. A later reading overrides it.">
        <div class="columns">
          <TextField
            label="Code"
            value={code()}
            onInput={(typed) => change({ code: typed })}
            required
            maxLength={16}
            wrong={wrongAt(save.error, '#/code')}
            hint="Leads its tasks: L13"
          />
          <TextField
            label="Name"
            value={draft().name}
            onInput={(name) => change({ name })}
            required
            maxLength={80}
            wrong={wrongAt(save.error, '#/name')}
          />
          <TextField
            label="Variety"
            value={draft().variety}
            onInput={(variety) => change({ variety })}
            required
            maxLength={80}
            wrong={wrongAt(save.error, '#/variety')}
          />
          <TextField
            label="Block"
            value={draft().block}
            onInput={(block) => change({ block })}
            maxLength={80}
            wrong={wrongAt(save.error, '#/block')}
          />
          <TextField
            label="Place"
            value={draft().place}
            onInput={(place) => change({ place })}
            maxLength={80}
            wrong={wrongAt(save.error, '#/place')}
          />
          <TextField
            label="Picked on"
            type="date"
            value={draft().pickOn}
            onInput={(pickOn) => change({ pickOn })}
            required
            wrong={wrongAt(save.error, '#/pickOn')}
          />
        </div>
        <FruitFields fruit={draft().fruit} change={fruit} error={save.error} />
        <Show when={whole()}>
          {(given) => <p class="quiet">About {format().volume(given().tonnes * given().yieldLPerT)} of juice.</p>}
        </Show>
      </Folio>

      <Folio title="Style" note={`${different()} of your answers differ from it.`}>
        <StylePick
          value={choices().style}
          onInput={(style: Style) => setChoices({ ...defaultsFor(style), finishOn: choices().finishOn })}
        />
        <Show when={(protocols.dataUpdatedAt > 0 && protocols.data?.protocols.length) || 0}>
          <Select
            class="short"
            label="Or copy a protocol"
            value=""
            options={[
              { value: '', label: 'None' },
              ...(protocols.data?.protocols ?? []).map((entry) => ({
                value: entry.id,
                label: `${entry.name} (${STYLE_NOTES[entry.choices.style].label})`,
              })),
            ]}
            onInput={(id) => {
              const chosen = protocols.data?.protocols.find((entry) => entry.id === id)
              if (chosen) setChoices(chosen.choices)
            }}
          />
        </Show>
      </Folio>

      <Folio title="Choices" note="In the order of the work. Beside each: what it does.">
        <ChoicesForm
          choices={choices()}
          onChange={setChoices}
          conflicts={found()}
          signed={signed()}
          onSign={setSigned}
        />
      </Folio>

      <Folio title="Dates" note="What these answers would mean, planned among the other lots.">
        <Show
          when={ready() ? whole() : undefined}
          fallback={<p class="quiet">Give the lot {missing().join(', ')}, and its dates stand here.</p>}
        >
          {(given) => <MainDates choices={choices()} fruit={given()} pickOn={draft().pickOn} onConflicts={setThere} />}
        </Show>
      </Folio>

      <div class="bar stack tight">
        <Show when={save.isError}>
          <Failed error={save.error} />
        </Show>
        <Show when={blocks().length > 0}>
          <p class="late-text" role="status">
            <For each={blocks()}>{(rule, index) => `${index() > 0 ? ', ' : ''}${rule.id}`}</For>{' '}
            {blocks().length === 1 ? 'stands' : 'stand'} against this. Change an answer, or sign a reason.
          </p>
        </Show>
        <Show when={!ready()}>
          <p class="quiet" role="status">
            Still to give: {missing().join(', ')}.
          </p>
        </Show>
        <div class="row">
          <Button kind="main" type="submit" pending={save.isPending} disabled={!ready() || blocks().length > 0}>
            Enter the lot
          </Button>
          <Button onClick={() => navigate('/lots')}>Leave it</Button>
        </div>
      </div>
    </form>
  )
}

export function nextCode(codes: readonly string[]): string {
  const most = codes.reduce((best, code) => Math.max(best, Number(/^L(\d+)$/.exec(code)?.[1] ?? 0)), 0)
  return `L${String(most + 1).padStart(2, '0')}`
}
