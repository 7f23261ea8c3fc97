/** IANA zones the browser knows, the device's own first. */
export const ownZone = (): string => Intl.DateTimeFormat().resolvedOptions().timeZone || 'UTC'

export const zoneOptions = (): readonly { readonly value: string; readonly label: string }[] => {
  const own = ownZone()
  const all = [own, ...Intl.supportedValuesOf('timeZone').filter((zone) => zone !== own)]
  return all.map((zone) => ({ value: zone, label: zone.replaceAll('_', ' ') }))
}

/** South of the equator the vintage is at the start of the year. A guess from the zone's name, to be corrected by hand. */
export const guessHemisphere = (zone: string): 'north' | 'south' =>
  /^(Australia|Antarctica)\/|^Pacific\/(Auckland|Chatham)|^Africa\/(Johannesburg|Windhoek|Maseru|Mbabane|Harare)|^America\/(Santiago|Punta_Arenas|Buenos_Aires|Argentina|Montevideo|Sao_Paulo|Lima|La_Paz|Asuncion)/.test(
    zone,
  )
    ? 'south'
    : 'north'

export const LANGUAGES = [
  { value: 'en', label: 'English' },
  { value: 'es', label: 'Español' },
  { value: 'fr', label: 'Français' },
  { value: 'pt', label: 'Português' },
  { value: 'it', label: 'Italiano' },
  { value: 'de', label: 'Deutsch' },
] as const
export type Language = (typeof LANGUAGES)[number]['value']
