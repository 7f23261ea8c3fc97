/** A lot that becomes several, as it is typed. */

export interface ChildMove {
  readonly from: string
  readonly to: string
  /** Absent: all that is there. */
  readonly volumeL: number | undefined
}

export interface Child {
  readonly code: string
  readonly name: string
  /** Vessels that become its own as they stand. */
  readonly vessels: readonly string[]
  readonly moves: readonly ChildMove[]
}

export const childOf = (lot: string, at: number): Child => ({
  code: `${lot}${'abcdefghijklmnopqrst'[at] ?? at}`,
  name: '',
  vessels: [],
  moves: [],
})

/** What stands in the way, one sentence each; empty: it may be sent. */
export function splitFaults(children: readonly Child[]): readonly string[] {
  const faults: string[] = []
  for (const child of children) {
    const name = child.code || 'A child'
    if (child.code.trim() === '' || child.name.trim() === '') faults.push(`${name} needs a code and a name.`)
    if (child.vessels.length + child.moves.length === 0) faults.push(`${name} has no wine yet.`)
    if (child.moves.some((move) => move.from === '' || move.to === ''))
      faults.push(`${name} has a move without its vessels.`)
  }
  const codes = children.map((child) => child.code.trim())
  if (new Set(codes).size < codes.length) faults.push('Two children have the same code.')
  const kept = children.flatMap((child) => child.vessels)
  if (new Set(kept).size < kept.length) faults.push('A vessel can stay with one child only.')
  return faults
}

export const splitBody = (lot: string, children: readonly Child[], wall: string): Record<string, unknown> => ({
  lot,
  ...(wall ? { atLocal: wall } : {}),
  children: children.map((child) => ({
    code: child.code.trim(),
    name: child.name.trim(),
    vessels: child.vessels,
    moves: child.moves.map(({ from, to, volumeL }) => ({ from, to, ...(volumeL === undefined ? {} : { volumeL }) })),
  })),
})

/** One vessel of a merge: stays where it is, is moved, or is left out. */
export interface Part {
  readonly vessel: string
  /** '': left out; 'stays'; or the vessel it goes to. */
  readonly goes: string
  readonly volumeL: number | undefined
  readonly lossL: number | undefined
}

export const mergeBody = (
  code: string,
  name: string,
  planFrom: string,
  parts: readonly Part[],
  wall: string,
): Record<string, unknown> => ({
  code: code.trim(),
  name: name.trim(),
  ...(planFrom ? { planFrom } : {}),
  ...(wall ? { atLocal: wall } : {}),
  vessels: parts.filter((part) => part.goes === 'stays').map((part) => part.vessel),
  moves: parts
    .filter((part) => part.goes !== '' && part.goes !== 'stays')
    .map((part) => ({
      from: part.vessel,
      to: part.goes,
      ...(part.volumeL === undefined ? {} : { volumeL: part.volumeL }),
      lossL: part.lossL ?? 0,
    })),
})

export function mergeFaults(code: string, name: string, parts: readonly Part[]): readonly string[] {
  const faults: string[] = []
  if (code.trim() === '' || name.trim() === '') faults.push('The new lot needs a code and a name.')
  const used = parts.filter((part) => part.goes !== '')
  if (used.length < 2) faults.push('At least two vessels of wine go into it.')
  return faults
}
