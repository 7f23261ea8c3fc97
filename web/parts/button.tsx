import { A } from '@solidjs/router'
import { type JSX, splitProps } from 'solid-js'

export interface ButtonLook {
  readonly kind?: 'main' | 'plain' | 'danger'
  readonly big?: boolean
}

const classOf = (look: ButtonLook, more?: string) =>
  ['button', look.kind, look.big && 'big', more].filter(Boolean).join(' ')

/** A button never submits by accident: say `type="submit"` where it should. */
export function Button(
  props: ButtonLook & { readonly pending?: boolean } & JSX.ButtonHTMLAttributes<HTMLButtonElement>,
) {
  const [look, own, rest] = splitProps(props, ['kind', 'big'], ['pending', 'class', 'disabled'])
  return (
    <button
      type="button"
      class={classOf(look, own.class)}
      disabled={own.disabled || own.pending}
      aria-busy={own.pending || undefined}
      {...rest}
    />
  )
}

/** A link that looks like a button: it goes somewhere, it changes nothing. */
export function ButtonLink(
  props: ButtonLook & { readonly href: string; readonly class?: string; readonly children: JSX.Element },
) {
  return (
    <A href={props.href} class={classOf(props, props.class)}>
      {props.children}
    </A>
  )
}
