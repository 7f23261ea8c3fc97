/**
 * Zones whose rules changed after an edition of the IANA time zone data, by the first edition that has the change.
 * Measured against edition 2026f on an hourly grid from 2025 to 2035; a runtime with older data writes these wrong.
 */
const CHANGED_IN: Readonly<Record<string, string>> = {
  'Africa/Casablanca': '2026f',
  'Africa/El_Aaiun': '2026f',
  'America/Edmonton': '2026f',
  'America/Vancouver': '2026f',
  'America/Winnipeg': '2026f',
  'Europe/Chisinau': '2026f',
}

export interface ZoneData {
  /** Edition of the zone data that this server works with, such as 2025c. */
  readonly edition: string
  /** Said where the cellar's own zone changed since. */
  readonly warning?: string
}

/** Editions are a year and a letter, so they compare as text. */
export function zoneData(zone: string, edition: string): ZoneData {
  const changed = CHANGED_IN[zone]
  if (changed === undefined || edition >= changed) return { edition }
  return {
    edition,
    warning: `The clock rules of ${zone} changed after edition ${edition} of the time zone data this server has. Times may be an hour off until Node.js is updated.`,
  }
}
