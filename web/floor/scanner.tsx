import { createSignal, onCleanup, onMount, Show } from 'solid-js'
import { say } from '../words/words.ts'
import { scanInto } from './scan.ts'

/** The camera's picture, until a tag in it is the right one. */
export function Scanner(props: { readonly found: (text: string) => boolean }) {
  let video: HTMLVideoElement | undefined
  let end: (() => void) | undefined
  let gone = false
  const [failed, setFailed] = createSignal(false)
  onMount(async () => {
    if (!video) return
    try {
      const stop = await scanInto(video, (text) => props.found(text))
      if (gone) stop()
      else end = stop
    } catch {
      setFailed(true)
    }
  })
  onCleanup(() => {
    gone = true
    end?.()
  })
  return (
    <Show when={!failed()} fallback={<p role="alert">{say('noCamera')}</p>}>
      <video class="scanner" ref={video} muted playsinline aria-label={say('cameraPicture')} />
      <p class="hint">{say('holdTag')}</p>
    </Show>
  )
}
