import type { Entry } from '../../db/queries/record.ts'
import type { Lot } from '../protocol/facts.ts'
import type { Temporal } from '../time.ts'

/** A change of a lot: what it is from now on, and who said so. Its answers have entries of their own. */
export const lotEntry = (lot: Lot, by: string, at: Temporal.Instant, words?: string): Entry => ({
  kind: 'lot',
  subjectId: lot.id,
  lotId: lot.id,
  personId: by,
  at,
  writtenAt: at,
  fact: {
    id: lot.id,
    code: lot.code,
    name: lot.name,
    variety: lot.variety,
    block: lot.block,
    place: lot.place,
    vintage: lot.vintage,
    pickOn: lot.pickOn,
    fruit: lot.fruit,
    vesselPins: lot.vesselPins,
    endedAt: lot.endedAt,
    ...(words ? { words } : {}),
  },
})
