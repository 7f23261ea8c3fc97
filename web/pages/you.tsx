import { useQueryClient } from '@tanstack/solid-query'
import { Show } from 'solid-js'
import { put } from '../api.ts'
import { ground, switchGround } from '../ground.ts'
import { Button } from '../parts/button.tsx'
import { Select } from '../parts/field.tsx'
import { Folio, PageHead } from '../parts/page-head.tsx'
import { Failed } from '../parts/states.tsx'
import { toast } from '../parts/toast.tsx'
import { useMe, useWrite } from '../queries.ts'
import { useSession } from '../session.tsx'
import { LANGUAGES, type Language } from '../zones.ts'
import { Cellars } from './you-cellars.tsx'
import { Passkeys } from './you-passkeys.tsx'
import { PasswordForm } from './you-password.tsx'
import { Phone } from './you-phone.tsx'
import { Sessions } from './you-sessions.tsx'

/** What is one's own: how one reads, how one gets in, and where one is signed in. */
export function You() {
  const session = useSession()
  const me = useMe()
  return (
    <>
      <PageHead title={session.person().name} lede="How you read, how you get in, and where you are signed in." />
      <Folio title="Reads" note="On any phone, from the next page on.">
        <LanguagePick />
        <div>
          <Button onClick={switchGround}>{ground() === 'day' ? 'Night ground' : 'Day ground'}</Button>
        </div>
      </Folio>
      <Folio title="Password" note="Needed to sign in without a link.">
        <PasswordForm />
      </Folio>
      <Show when={me.dataUpdatedAt > 0 && me.data?.person}>{(person) => <Passkeys person={person()} />}</Show>
      <Folio title="Signed in" note="A phone that is lost, or a browser that is not yours: end it here.">
        <Sessions />
      </Folio>
      <Show when={me.dataUpdatedAt > 0 && me.data}>
        {(now) => (
          <>
            <Phone me={now()} />
            <Cellars me={now()} />
          </>
        )}
      </Show>
    </>
  )
}

function LanguagePick() {
  const session = useSession()
  const client = useQueryClient()
  const save = useWrite((language: Language) => put('/api/me/language', { language }))
  const choose = async (language: Language) => {
    try {
      await save.mutateAsync(language)
      await client.invalidateQueries({ queryKey: ['me'] })
      toast('Kept.')
    } catch {
      // shown below
    }
  }
  return (
    <>
      <Select
        label="Language"
        hint="Of dates, feeds and the words on the floor."
        value={LANGUAGES.find((entry) => entry.value === session.person().language)?.value}
        options={LANGUAGES}
        onInput={(language) => void choose(language)}
      />
      <Show when={save.isError}>
        <Failed error={save.error} />
      </Show>
    </>
  )
}
