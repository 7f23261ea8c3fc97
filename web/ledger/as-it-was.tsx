import { useSearchParams } from '@solidjs/router'
import { momentOfWall } from '../format.ts'
import { TextField } from '../parts/field.tsx'
import { useSession } from '../session.tsx'

/** A moment to look at, kept in the address so that it can be sent on. Absent: now. */
export function useAsItWas() {
  const session = useSession()
  const [search, setSearch] = useSearchParams<{ at?: string }>()
  const wall = () => search.at ?? ''
  return {
    wall,
    setWall: (at: string) => setSearch({ at: at || undefined }, { replace: true }),
    at: (): string | undefined => momentIn(wall(), session.cellar().zone),
  }
}

/** A half-typed date asks for nothing. */
export function momentIn(wall: string, zone: string): string | undefined {
  if (!/^\d{4}-\d{2}-\d{2}T\d{2}:\d{2}/.test(wall)) return undefined
  try {
    return momentOfWall(wall, zone)
  } catch {
    return undefined
  }
}

export function AsItWas(props: { readonly wall: string; readonly setWall: (wall: string) => void }) {
  return (
    <TextField
      label="As it was"
      type="datetime-local"
      hint="Empty: now, cellar time"
      value={props.wall}
      onInput={props.setWall}
      class="short"
    />
  )
}
