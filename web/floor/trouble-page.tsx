import { A, useNavigate, useSearchParams } from '@solidjs/router'
import { createSignal, Show } from 'solid-js'
import { byCode } from '../by-code.ts'
import { Select } from '../parts/field.tsx'
import { PageHead } from '../parts/page-head.tsx'
import { useVessels } from '../queries.ts'
import { say, tongue } from '../words/words.ts'
import { createTelling } from './acting.ts'
import { troubleWord } from './floor-words.ts'
import { PhotoField } from './photo-field.tsx'
import { tell } from './send.ts'
import { TroubleForm } from './trouble-form.tsx'

/** A problem that belongs to no task: at a vessel, or anywhere in the cellar. */
export function TroublePage() {
  const navigate = useNavigate()
  const [params] = useSearchParams<{ vessel?: string; lot?: string }>()
  const vessels = useVessels()
  const [code, setCode] = createSignal(params.vessel ?? '')
  const telling = createTelling()
  const all = () => (vessels.dataUpdatedAt > 0 && vessels.data?.vessels) || []
  const lot = () => all().find((vessel) => vessel.code === code())?.now?.lotCode ?? (params.lot || undefined)
  const about = () => ({ ...(code() ? { vessel: code() } : {}), ...(lot() ? { lot: lot() } : {}) })
  return (
    <div class="floor" lang={tongue()}>
      <p class="floor-back">
        <A href="/today" class="button plain">
          ‹ {say('today')}
        </A>
      </p>
      <PageHead title={say('problem')} lede={say('problemLede')} />
      <div class="stack">
        <Select
          label={say('atVessel')}
          value={code()}
          options={[
            { value: '', label: say('noVessel') },
            ...all()
              .map((vessel) => vessel.code)
              .toSorted(byCode)
              .map((one) => ({ value: one, label: one })),
          ]}
          onInput={setCode}
        />
        <Show when={lot()}>
          {(found) => (
            <p>
              {say('whatIsIn')}: <b>{found()}</b>
            </p>
          )}
        </Show>
        <PhotoField about={about()} />
        <Show when={telling.refused()}>
          <p class="note bad" role="alert">
            <b>{say('refused')}</b> {telling.refusedWords()}
          </p>
        </Show>
        <TroubleForm
          busy={telling.busy()}
          onBack={() => navigate('/today')}
          onTell={async (kind, words) => {
            const isTold = await telling.tell(
              () => tell('trouble', { kind, ...about(), words }, `${say('problem')}: ${troubleWord(kind)} ${code()}`),
              say('troubleSaid', { what: troubleWord(kind) }),
            )
            if (isTold) navigate('/today')
          }}
        />
      </div>
    </div>
  )
}
