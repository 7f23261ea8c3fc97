/** What vessels hold, by their kind: a cellar has two hundred barrels, and nobody reads them one after another. */
import type { ContentWire } from '../../api/wire.ts'

export interface HeldKind {
  readonly kind: ContentWire['vessel']['kind']
  /** In the order of the list. */
  readonly contents: readonly ContentWire[]
  /** How many hold wine. */
  readonly full: number
  readonly volumeL: number
  /** Room of all vessels of the kind, full or empty. */
  readonly capacityL: number
}

/** Kinds as they first appear, with those that hold nothing as well. */
export function byKind(contents: readonly ContentWire[]): readonly HeldKind[] {
  return [...new Set(contents.map((content) => content.vessel.kind))].map((kind) => {
    const own = contents.filter((content) => content.vessel.kind === kind)
    return {
      kind,
      contents: own,
      full: own.filter((content) => content.volumeL > 0).length,
      volumeL: own.reduce((sum, content) => sum + content.volumeL, 0),
      capacityL: own.reduce((sum, content) => sum + content.vessel.capacityL, 0),
    }
  })
}

/** Litres of room in empty vessels that may be filled. */
export const roomL = (contents: readonly ContentWire[]): number =>
  contents
    .filter((content) => content.volumeL === 0 && content.state !== 'out-of-service')
    .reduce((sum, content) => sum + content.vessel.capacityL, 0)
