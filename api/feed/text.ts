/**
 * Text that is safe in a calendar line.
 *
 * RFC 5545 section 3.1 allows no control character but the tab; U+2028, U+2029 and U+0085 are line ends to some
 * readers, so they become the newline they mean. Lone surrogates are not text (RFC 3629 section 3).
 */
// biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what this line takes out
const CONTROLS = /[\u0000-\u0008\u000e-\u001f\u007f]/g
// biome-ignore lint/suspicious/noControlCharactersInRegex: vertical tab and form feed end a line too
const LINE_ENDS = /\r\n?|[\u000b\u000c\u0085\u2028\u2029]/g

/** Text that may hold line breaks: DESCRIPTION. */
export function manyLines(text: string): string {
  return text.toWellFormed().replace(LINE_ENDS, '\n').replace(CONTROLS, '')
}

/** Text on one line: SUMMARY, LOCATION, NAME, CATEGORIES. */
export function oneLine(text: string): string {
  return manyLines(text).replace(/\n+/g, ' ').trim()
}

/** TEXT escapes of RFC 5545 section 3.3.11: backslash, semicolon, comma, newline. Never the colon. */
export function escapeText(text: string): string {
  return text.replace(/[\\;,]/g, (c) => `\\${c}`).replace(/\n/g, '\\n')
}

/** Octets of a character in UTF-8 (RFC 3629 section 3). */
const octetsOf = (code: number): number => (code < 0x80 ? 1 : code < 0x800 ? 2 : code < 0x10000 ? 3 : 4)

/** Folds a content line to at most 75 octets without its CRLF, whole characters only (RFC 5545 section 3.1). */
export function fold(line: string): string {
  // No character takes more than three octets for each of its UTF-16 units.
  if (line.length * 3 <= 75) return line
  const parts: string[] = []
  let from = 0
  let octets = 0
  for (let i = 0; i < line.length; ) {
    const code = line.codePointAt(i)!
    const size = octetsOf(code)
    if (octets + size > 75) {
      parts.push(line.slice(from, i))
      from = i
      // The space that continues a line counts too.
      octets = 1
    }
    octets += size
    i += code > 0xffff ? 2 : 1
  }
  parts.push(line.slice(from))
  return parts.join('\r\n ')
}
