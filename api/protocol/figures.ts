/** A figure for people: thousands set off, no more digits than it deserves. Plain text: the same on every machine. */
export function figure(value: number, digits = value >= 100 ? 0 : value >= 10 ? 1 : 2): string {
  const scale = 10 ** digits
  const [whole = '0', rest] = String(Math.round(Math.abs(value) * scale) / scale).split('.')
  const grouped = whole.replace(/\B(?=(\d{3})+$)/g, ',')
  return `${value < 0 ? '-' : ''}${grouped}${rest ? `.${rest}` : ''}`
}

export const litres = (volumeL: number): string => `${figure(volumeL, 0)} L`
