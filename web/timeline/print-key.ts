/** The key of a sheet. */
import type { Palette } from '../palette.ts'
import type { Frame } from './frame.ts'
import { lookBy, lookWith, type PegLook } from './look.ts'
import { CONFLICT, FAMILY_ORDER, LATE, PEG_STATES, PHASE_WORDS, PINNED } from './model.ts'
import { drawPeg, pegName } from './peg.ts'
import type { Surface } from './surface.ts'

/** Only the signs that this sheet uses. */
export function paintKey(to: Surface, frame: Frame, palette: Palette, x: number, y: number): void {
  const looks = new Map<string, PegLook>()
  const phases = new Set<string>()
  for (const { marks } of frame.rows) {
    for (const peg of [...marks.pegs, ...marks.bars]) {
      const { look } = peg
      looks.set(look.family, lookBy(FAMILY_ORDER.indexOf(look.family), PEG_STATES.indexOf('planned'), 0, 0))
      if (look.late) looks.set('late', lookWith(look, LATE))
      if (look.conflict) looks.set('breaks a rule', lookWith(look, CONFLICT))
      if (look.state === 'blocked') looks.set('blocked', lookWith(look, 0))
      if (look.state === 'done') looks.set('done', look)
      if (look.pinned) looks.set('pinned', lookWith(look, PINNED))
    }
    for (const band of marks.bands) phases.add(PHASE_WORDS[band.phase.kind])
  }
  const order = [...FAMILY_ORDER, 'late', 'blocked', 'breaks a rule', 'done', 'pinned']
  let at = x + 6
  for (const word of order) {
    const look = looks.get(word)
    if (!look) continue
    to.stamp(pegName(look, 12, palette), 16, at, y, (stamp) => drawPeg(stamp, look, 12, palette))
    to.text(word, at + 13, y + 4, { px: 12, fill: palette.ink })
    at += 38 + word.length * 7
  }
  const dots = phases.has(PHASE_WORDS.ferment) ? 'dots: sugar falling' : ''
  const rings = phases.has(PHASE_WORDS.malolactic) ? 'rings: acid turned' : ''
  to.text(['bands: what the wine does by itself', dots, rings].filter(Boolean).join('; '), x, y + 20, {
    px: 12,
    fill: palette.quiet,
  })
}
