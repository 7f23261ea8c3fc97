import { createSignal, For, Show } from 'solid-js'
import type { VesselWire } from '../../api/wire.ts'
import { byCode } from '../by-code.ts'
import { Button } from '../parts/button.tsx'
import { Select } from '../parts/field.tsx'
import { PageHead } from '../parts/page-head.tsx'
import { QrCode } from '../parts/qr-code.tsx'
import { Ask } from '../parts/states.tsx'
import { useVessels } from '../queries.ts'
import { useSession } from '../session.tsx'
import { say, tongue } from '../words/words.ts'
import { placeWord, vesselWord } from './floor-words.ts'
import { placeOf } from './walk.ts'

/** Tags to hang on tanks and barrels: the number as painted, and a code that leads to the vessel's own page. */
export function TagsPage() {
  const session = useSession()
  const vessels = useVessels()
  const [place, setPlace] = createSignal('')
  const address = (code: string) => `${location.origin}/v/${encodeURIComponent(code)}`
  const chosen = (all: readonly VesselWire[]) =>
    all.filter((vessel) => place() === '' || placeOf(vessel) === place()).toSorted((a, b) => byCode(a.code, b.code))
  return (
    <div class="floor tags-page" lang={tongue()}>
      <PageHead title={say('tags')} lede={say('tagsLede')}>
        <Button kind="main" onClick={() => window.print()}>
          {say('print')}
        </Button>
      </PageHead>
      <Ask query={vessels} what={say('theVessels')}>
        {(answer) => (
          <>
            <div class="no-print">
              <Select
                label={say('placeLabel')}
                value={place()}
                options={[
                  { value: '', label: say('allVessels', { n: answer().vessels.length }) },
                  ...[...new Set(answer().vessels.map(placeOf))]
                    .sort(byCode)
                    .map((one) => ({ value: one, label: placeWord(one) })),
                ]}
                onInput={setPlace}
              />
            </div>
            <Show when={chosen(answer().vessels).length > 0} fallback={<p>{say('nothingHere')}</p>}>
              <ul class="vessel-tags">
                <For each={chosen(answer().vessels)}>
                  {(vessel) => (
                    <li class="vessel-tag" data-vessel={vessel.code}>
                      <QrCode text={address(vessel.code)} label={say('tagOf', { code: vessel.code })} />
                      <div>
                        <b class="tag-code">{vessel.code}</b>
                        <span>
                          {vesselWord(vessel.kind)} {session.format().volume(vessel.volumeL)}
                        </span>
                        <span class="small">{session.cellar().name}</span>
                      </div>
                    </li>
                  )}
                </For>
              </ul>
            </Show>
          </>
        )}
      </Ask>
    </div>
  )
}
