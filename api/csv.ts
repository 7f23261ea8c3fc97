/** Tables as text, both ways. */
import Papa from 'papaparse'

export interface Table {
  /** Names as in the file, and as we know them: small letters, no spaces, dashes or underscores. */
  readonly columns: readonly string[]
  readonly rows: readonly Readonly<Record<string, string>>[]
  /** What could not be read, by row of the file; the header is row 1. */
  readonly errors: readonly { readonly row: number; readonly detail: string }[]
}

export const plainName = (name: string) => name.toLowerCase().replaceAll(/[^a-z0-9]/g, '')

/** Reads a table with a header row. Separator and quotes are found out; a spreadsheet's mark at the start is dropped. */
export function readTable(text: string): Table {
  const parsed = Papa.parse<Record<string, string>>(text.replace(/^\uFEFF/, ''), {
    header: true,
    skipEmptyLines: 'greedy',
    transformHeader: plainName,
    transform: (value) => unescaped(value.trim()),
  })
  return {
    columns: parsed.meta.fields ?? [],
    rows: parsed.data,
    errors: parsed.errors
      .filter((e) => e.code !== 'UndetectableDelimiter')
      .map((e) => ({ row: (e.row ?? 0) + 2, detail: e.message })),
  }
}

/** Text a spreadsheet would run as a formula gets a quote in front (OWASP ASVS 5.0 V1.2.10); numbers stay numbers. */
const FORMULA = /^[=+\-@\t\r\n\0]/

export const escapedCell = (value: unknown): string => {
  if (value === null || value === undefined) return ''
  if (typeof value === 'number' || typeof value === 'boolean') return String(value)
  const text = String(value)
  return FORMULA.test(text) ? `'${text}` : text
}

/** The quote we put in front is taken away again when our own table comes back. */
const unescaped = (text: string) => (/^'[=+\-@]/.test(text) ? text.slice(1) : text)

/** RFC 4180: CRLF, a quote doubled, cells quoted where they need it. */
export function writeTable(columns: readonly string[], rows: readonly Readonly<Record<string, unknown>>[]): string {
  const cells = rows.map((row) => columns.map((name) => escapedCell(row[name])))
  return `${Papa.unparse([[...columns], ...cells], { newline: '\r\n' })}\r\n`
}
