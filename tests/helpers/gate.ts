/** Something to wait for until another part of a test lets it go on. */
export function gate(): { readonly opened: Promise<void>; readonly open: () => void } {
  let open: () => void = () => {}
  const opened = new Promise<void>((done) => {
    open = done
  })
  return { opened, open }
}
