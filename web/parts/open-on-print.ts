/** What is folded away on the screen stands open on paper. Call while the component is made. */
import { onCleanup } from 'solid-js'

/** @param root its `details` are opened before the browser prints, and folded again afterwards */
export function openOnPrint(root: () => HTMLElement | undefined): void {
  let folded: readonly HTMLDetailsElement[] = []
  const open = () => {
    folded = [...(root()?.querySelectorAll<HTMLDetailsElement>('details:not([open])') ?? [])]
    for (const one of folded) one.open = true
  }
  const fold = () => {
    for (const one of folded) one.open = false
  }
  window.addEventListener('beforeprint', open)
  window.addEventListener('afterprint', fold)
  onCleanup(() => {
    window.removeEventListener('beforeprint', open)
    window.removeEventListener('afterprint', fold)
  })
}
