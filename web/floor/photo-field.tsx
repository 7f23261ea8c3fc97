import { createSignal, createUniqueId, For, Show } from 'solid-js'
import { say } from '../words/words.ts'
import { createTelling } from './acting.ts'
import { drawnAnew } from './photo.ts'
import { tell } from './send.ts'

/** Takes a photo and sends it. It is drawn anew on the phone: small, and without the camera's notes on the place. */
export function PhotoField(props: {
  readonly about: { readonly taskKey?: string; readonly lot?: string; readonly vessel?: string }
}) {
  const id = createUniqueId()
  const telling = createTelling()
  const [shown, setShown] = createSignal<readonly string[]>([])
  const [failed, setFailed] = createSignal(false)
  const take = async (files: FileList | null) => {
    const file = files?.[0]
    if (!file) return
    setFailed(false)
    try {
      const base64 = await drawnAnew(file)
      const isSent = await telling.tell(() => tell('photo', { ...props.about, base64 }, say('photo')), say('photoKept'))
      if (isSent) setShown((now) => [...now, `data:image/jpeg;base64,${base64}`])
    } catch {
      setFailed(true)
    }
  }
  return (
    <div class="photo-field">
      <label class="button" for={id}>
        {telling.busy() ? say('sending') : say('photo')}
      </label>
      <input
        id={id}
        class="visually-hidden"
        type="file"
        accept="image/*"
        capture="environment"
        onChange={(event) => void take(event.currentTarget.files)}
      />
      <Show when={failed() || telling.refused()}>
        <p class="late-text" role="alert">
          {failed() ? say('photoFailed') : telling.refusedWords()}
        </p>
      </Show>
      <For each={shown()}>{(source) => <img class="photo-thumb" src={source} alt={say('photoOfNow')} />}</For>
    </div>
  )
}
