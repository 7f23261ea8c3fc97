import { createSignal, lazy, Show, Suspense } from 'solid-js'
import { Button } from '../parts/button.tsx'
import { say } from '../words/words.ts'
import { digitsOf, isVessel, vesselOfTag } from './walk.ts'

const Scanner = lazy(async () => ({ default: (await import('./scanner.tsx')).Scanner }))

/** The field stands far down the page: what it answers would be said below the bar at the bottom. */
const intoView = (line: HTMLElement) => requestAnimationFrame(() => line.scrollIntoView({ block: 'nearest' }))

/** The right tank, by two digits of its number or by its tag. A wrong one is said aloud in red, and nothing starts. */
export function VesselCheck(props: {
  readonly codes: readonly string[]
  readonly ok: boolean
  readonly onOk: (how: 'digits' | 'scan') => void
}) {
  const [typed, setTyped] = createSignal('')
  const [scanning, setScanning] = createSignal(false)
  const [wrong, setWrong] = createSignal('')
  const asked = () => digitsOf(props.codes[0] ?? '').length
  const check = (text: string) => {
    setTyped(text)
    setWrong('')
    if (isVessel(props.codes, text)) return props.onOk('digits')
    if (text.trim().length >= asked()) setWrong(say('wrongVessel', { typed: text, codes: props.codes.join(', ') }))
  }
  const scanned = (text: string): boolean => {
    const code = vesselOfTag(text)
    setWrong('')
    if (code !== undefined && isVessel(props.codes, code)) {
      setScanning(false)
      props.onOk('scan')
      return true
    }
    setWrong(say('wrongVessel', { typed: code ?? text.slice(0, 20), codes: props.codes.join(', ') }))
    return false
  }
  return (
    <section class="vessel-check" aria-label={say('rightVessel')}>
      <Show
        when={!props.ok}
        fallback={
          <p class="ok-line" role="status">
            ✓ {say('vesselOk', { codes: props.codes.slice(0, 3).join(', ') })}
          </p>
        }
      >
        <div class="row top">
          <label class="field">
            <span class="label">{say('twoDigits')}</span>
            <input
              class="input digits"
              inputmode="numeric"
              autocomplete="off"
              maxLength={16}
              value={typed()}
              onInput={(event) => check(event.currentTarget.value)}
            />
          </label>
          <Button onClick={() => setScanning((now) => !now)}>{scanning() ? say('stopScan') : say('scanTag')}</Button>
        </div>
        <Show when={wrong()}>
          <p class="wrong-vessel" role="alert" ref={intoView}>
            {wrong()}
          </p>
        </Show>
        <Show when={scanning()}>
          <Suspense>
            <Scanner found={scanned} />
          </Suspense>
        </Show>
      </Show>
    </section>
  )
}
