/**
 * Questions that are asked in the same words over and over, kept planned in the embedded database: planning one takes
 * it 1 to 5 ms, up to ten times as long as answering. A server is quick at it, and passes over the mark.
 */

/** Stands at the head of such a question, which must have few wordings: what varies goes in as parameters. */
export const KEPT = '/* kept */'

/** Wordings kept at most: each holds its plan in memory. */
const MOST = 200

type Asks = (text: string, params?: unknown[], options?: unknown) => Promise<unknown>

/** Of one engine: name by wording. Added once prepared, since nobody may wait for what another transaction prepares. */
export type KeptNames = Map<string, string>

let count = 0

export function keptPlanned(ask: Asks, names: KeptNames): Asks {
  return async (text, params = [], options) => {
    if (!text.startsWith(KEPT)) return ask(text, params, options)
    const literals = params.map(literalOf)
    if (literals.includes(undefined) || (!names.has(text) && names.size >= MOST)) return ask(text, params, options)
    const name = names.get(text) ?? `kept_${++count}`
    if (!names.has(text)) {
      // Outlives a transaction that is rolled back.
      await ask(`prepare ${name} as ${text}`)
      names.set(text, name)
    }
    return ask(`execute ${name}${literals.length > 0 ? `(${literals.join(', ')})` : ''}`, [], options)
  }
}

/** A parameter as text of no type yet, as the protocol sends it; undefined where it cannot be written so. */
function literalOf(value: unknown): string | undefined {
  if (value === null || value === undefined) return 'null'
  if (typeof value === 'number' || typeof value === 'boolean') return `'${value}'`
  if (typeof value !== 'string' || value.includes('\0')) return undefined
  return `'${value.replaceAll("'", "''")}'`
}
