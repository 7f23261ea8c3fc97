/** A device in a person's words, from what its browser calls itself. Only for telling one's own apart. */
export function deviceWords(client: string): string {
  const device = DEVICES.find(([sign]) => client.includes(sign))?.[1]
  const browser = BROWSERS.find(([sign]) => client.includes(sign))?.[1]
  if (!device && !browser) return 'A device'
  return [browser, device].filter(Boolean).join(', ')
}

const DEVICES = [
  ['iPhone', 'iPhone'],
  ['iPad', 'iPad'],
  ['Android', 'Android'],
  ['Windows', 'Windows'],
  ['Macintosh', 'Mac'],
  ['Linux', 'Linux'],
] as const

/** The more particular first: most of them name the others too. */
const BROWSERS = [
  ['Firefox/', 'Firefox'],
  ['FxiOS/', 'Firefox'],
  ['Edg/', 'Edge'],
  ['Chrome/', 'Chrome'],
  ['CriOS/', 'Chrome'],
  ['Safari/', 'Safari'],
] as const
