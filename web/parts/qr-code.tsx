import QR from 'qrcode'
import { createMemo } from 'solid-js'

/** Dark squares on white whatever the ground: readers expect it. */
export function QrCode(props: { readonly text: string; readonly label: string }) {
  const drawing = createMemo(() => {
    const { modules } = QR.create(props.text, { errorCorrectionLevel: 'M' })
    return { size: modules.size, path: squares(modules.size, (row, column) => modules.get(row, column) === 1) }
  })
  return (
    <svg
      class="qr"
      viewBox={`0 0 ${drawing().size} ${drawing().size}`}
      role="img"
      aria-label={props.label}
      shape-rendering="crispEdges"
    >
      <path d={drawing().path} fill="#000" />
    </svg>
  )
}

/** One path of horizontal runs. */
function squares(size: number, dark: (row: number, column: number) => boolean): string {
  const runs: string[] = []
  for (let row = 0; row < size; row += 1) {
    for (let column = 0; column < size; column += 1) {
      if (!dark(row, column)) continue
      const start = column
      while (column + 1 < size && dark(row, column + 1)) column += 1
      runs.push(`M${start} ${row}h${column - start + 1}v1H${start}z`)
    }
  }
  return runs.join('')
}
