import { For, Show } from 'solid-js'
import type { CellarWire } from '../../api/wire.ts'
import { Button } from '../parts/button.tsx'
import { NumberField, Select, TextField } from '../parts/field.tsx'
import { Folio } from '../parts/page-head.tsx'
import { wrongAt } from '../parts/states.tsx'
import { useSession } from '../session.tsx'

/** A site as it is typed: minutes from the cellar itself, and from the sites above it in the list. */
export interface SiteForm {
  readonly name: string
  readonly awayMin: number | undefined
  /** By place in the list; absent: over the cellar. */
  readonly from: Readonly<Record<number, number | undefined>>
}

type SiteWire = CellarWire['sites'][number]

export const sitesShown = (sites: readonly SiteWire[]): readonly SiteForm[] =>
  sites.map((site, i) => ({
    name: site.name,
    awayMin: site.awayMin,
    from: Object.fromEntries(
      sites.slice(0, i).map((other, j) => [j, site.to?.[other.name] ?? other.to?.[site.name]] as const),
    ),
  }))

/** What has no name or no minutes is not kept. */
export function sitesKept(forms: readonly SiteForm[]): readonly SiteWire[] {
  const nameOf = (form: SiteForm | undefined) => (form?.awayMin === undefined ? '' : form.name.trim())
  return forms.flatMap((form, i) => {
    const { awayMin, from } = form
    if (awayMin === undefined || nameOf(form) === '') return []
    const to = forms.slice(0, i).flatMap((other, j) => {
      const min = from[j]
      return min === undefined || nameOf(other) === '' ? [] : [[nameOf(other), min] as const]
    })
    return [{ name: nameOf(form), awayMin, ...(to.length > 0 ? { to: Object.fromEntries(to) } : {}) }]
  })
}

/** Places away from the cellar, and how long people are on the way. */
export function SiteFields(props: {
  readonly sites: readonly SiteForm[]
  readonly onChange: (sites: readonly SiteForm[]) => void
  readonly error?: unknown
}) {
  const put = (at: number, part: Partial<SiteForm>) =>
    props.onChange(props.sites.map((site, i) => (i === at ? { ...site, ...part } : site)))
  /** The minutes stay with the sites that stay. */
  const remove = (at: number) =>
    props.onChange(
      props.sites
        .filter((_, i) => i !== at)
        .map((site) => ({
          ...site,
          from: Object.fromEntries(
            Object.entries(site.from).flatMap(([j, min]) =>
              Number(j) === at ? [] : [[Number(j) > at ? Number(j) - 1 : Number(j), min] as const],
            ),
          ),
        })),
    )
  return (
    <Folio
      title="Other sites"
      note="Where vessels or machines stand elsewhere. The way there lies between one person’s work here and there."
    >
      <For each={props.sites.map((_, i) => i)}>
        {(i) => (
          <div class="row">
            <TextField
              label="Site"
              value={props.sites[i]?.name ?? ''}
              maxLength={40}
              onInput={(name) => put(i, { name })}
              wrong={wrongAt(props.error, `#/sites/${i}/name`)}
            />
            <NumberField
              label="From the cellar"
              unit="min"
              min={0}
              max={600}
              step={1}
              value={props.sites[i]?.awayMin}
              onInput={(awayMin) => put(i, { awayMin })}
            />
            <For each={props.sites.slice(0, i).map((_, j) => j)}>
              {(j) => (
                <NumberField
                  label={`From ${props.sites[j]?.name || 'the site above'}`}
                  unit="min"
                  min={0}
                  max={600}
                  step={1}
                  value={props.sites[i]?.from[j]}
                  onInput={(min) => put(i, { from: { ...props.sites[i]?.from, [j]: min } })}
                />
              )}
            </For>
            <Button kind="plain" onClick={() => remove(i)}>
              Remove
            </Button>
          </div>
        )}
      </For>
      <div>
        <Button
          kind="plain"
          onClick={() => props.onChange([...props.sites, { name: '', awayMin: undefined, from: {} }])}
        >
          Add a site
        </Button>
      </div>
    </Folio>
  )
}

/** Where a vessel or machine stands; nothing to choose where the cellar has no other site. */
export function SiteField(props: {
  readonly value: string
  readonly onInput: (site: string) => void
  readonly wrong?: string
}) {
  const { cellar } = useSession()
  return (
    <Show when={cellar().sites.length > 0}>
      <Select
        label="Stands at"
        value={props.value}
        options={[
          { value: '', label: 'The cellar itself' },
          ...cellar().sites.map(({ name }) => ({ value: name, label: name })),
        ]}
        onInput={props.onInput}
        wrong={props.wrong}
      />
    </Show>
  )
}
