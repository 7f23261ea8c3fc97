import { For } from 'solid-js'

/** The tag that hangs on a vessel: its code, as painted. */
export function VesselTag(props: { readonly code: string; readonly huge?: boolean }) {
  return (
    <span class="tag" classList={{ huge: props.huge }}>
      {props.code}
    </span>
  )
}

/** Many barrels are said as a count and their ends. */
export function VesselTags(props: {
  readonly codes: readonly string[]
  readonly huge?: boolean
  readonly most?: number
}) {
  const most = () => props.most ?? 4
  const shown = () => (props.codes.length > most() ? props.codes.slice(0, most() - 1) : props.codes)
  return (
    <span class="tags">
      <For each={shown()}>{(code) => <VesselTag code={code} huge={props.huge} />}</For>
      {props.codes.length > most() && (
        <span class="quiet" title={props.codes.join(', ')}>
          +{props.codes.length - shown().length}
        </span>
      )}
    </span>
  )
}
