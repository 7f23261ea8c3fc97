import { useNavigate } from '@solidjs/router'
import { createSignal, Show } from 'solid-js'
import type { VesselWire } from '../../api/wire.ts'
import { PageHead } from '../parts/page-head.tsx'
import { useVessels } from '../queries.ts'
import { say, tongue } from '../words/words.ts'
import { Scanner } from './scanner.tsx'
import { digitsOf, vesselOfTag } from './walk.ts'

/** From the tag on a vessel, or its number, to what is in it and what is to be done on it. */
export function ScanPage() {
  const navigate = useNavigate()
  const vessels = useVessels()
  const [typed, setTyped] = createSignal('')
  const [wrong, setWrong] = createSignal('')
  const all = (): readonly VesselWire[] => (vessels.dataUpdatedAt > 0 && vessels.data?.vessels) || []
  const matches = () => {
    const text = typed().trim().toUpperCase()
    if (text === '') return []
    const exact = all().filter((vessel) => vessel.code.toUpperCase() === text)
    return exact.length > 0
      ? exact
      : all().filter((vessel) => /^\d+$/.test(text) && digitsOf(vessel.code) === digitsOf(text))
  }
  const scanned = (text: string): boolean => {
    const code = vesselOfTag(text)
    if (code === undefined) {
      setWrong(say('noTag'))
      return false
    }
    navigate(`/v/${encodeURIComponent(code)}`)
    return true
  }
  return (
    <div class="floor" lang={tongue()}>
      <PageHead title={say('scanTag')} lede={say('scanLede')} />
      <div class="stack">
        <form
          class="row top"
          onSubmit={(event) => {
            event.preventDefault()
            const [only] = matches()
            if (only) navigate(`/v/${encodeURIComponent(only.code)}`)
            else setWrong(say('noSuchVessel', { typed: typed() }))
          }}
        >
          <label class="field">
            <span class="label">{say('vesselNumber')}</span>
            <input
              class="input digits"
              autocomplete="off"
              maxLength={16}
              value={typed()}
              onInput={(event) => {
                setWrong('')
                setTyped(event.currentTarget.value)
              }}
            />
          </label>
          <button type="submit" class="button main">
            {say('open')}
          </button>
        </form>
        <Show when={matches().length > 1}>
          <p class="row">
            {matches().map((vessel) => (
              <button type="button" class="button" onClick={() => navigate(`/v/${encodeURIComponent(vessel.code)}`)}>
                {vessel.code}
              </button>
            ))}
          </p>
        </Show>
        <Show when={wrong()}>
          <p class="wrong-vessel" role="alert">
            {wrong()}
          </p>
        </Show>
        <Scanner found={scanned} />
      </div>
    </div>
  )
}
