/** Outlines. A family is told by its peg's outline alone, a vessel by the ends of its band. */
import type { Family } from '../../api/protocol/types.ts'
import type { PhaseWire } from '../../api/wire.ts'

/** Twelve pixels high about the origin. */
export const PEG_PATHS: Readonly<Record<Family, string>> = {
  juice: 'M-6-6H6L3.5 6H-3.5Z',
  ferment: 'M0-7C3-2.5 6-.5 6 2.2A6 5 0 0 1-6 2.2C-6-.5-3-2.5 0-7Z',
  check: 'M0-6A4.2 4.2 0 0 1 0 2.4 4.2 4.2 0 0 1 0-6ZM-1 2.4H1V7H-1Z',
  move: 'M-6-5H3L7 0 3 5H-6L-3 0Z',
  lees: 'M-7-3C-4-7-1-5 1-3 3-1 5-2 7-4V3C4 7 1 5-1 3-3 1-5 2-7 4Z',
  protect: 'M-5.5-6H5.5V1L0 7-5.5 1Z',
}

export type VesselShape = 'tank' | 'barrel' | 'egg' | 'amphora'

type VesselKind = PhaseWire['vessels'][number]['kind']

const SHAPES: Readonly<Record<VesselKind, VesselShape>> = {
  tank: 'tank',
  'cold-tank': 'tank',
  'floating-lid': 'tank',
  'pressure-tank': 'tank',
  'open-tank': 'tank',
  concrete: 'egg',
  amphora: 'amphora',
  cask: 'barrel',
  barrel: 'barrel',
  puncheon: 'barrel',
  keg: 'tank',
}

export const shapeOfVessel = (kind: VesselKind | undefined): VesselShape => (kind ? SHAPES[kind] : 'tank')

const r1 = (n: number): number => Math.round(n * 10) / 10

/** The outline of a band `w` by `h` with its upper left corner at the origin. */
export function bandPath(shape: VesselShape, w: number, h: number): string {
  const round = Math.min(h, w / 2)
  switch (shape) {
    case 'tank':
      return `M0 0H${r1(w)}V${r1(h)}H0Z`
    case 'barrel': {
      const bulge = Math.min(h * 0.22, 4)
      return `M0 ${r1(bulge)}Q${r1(w / 2)} ${r1(-bulge)} ${r1(w)} ${r1(bulge)}V${r1(h - bulge)}Q${r1(w / 2)} ${r1(h + bulge)} 0 ${r1(h - bulge)}Z`
    }
    case 'egg':
      return `M0 0H${r1(w - round)}C${r1(w - round * 0.2)} 0 ${r1(w)} ${r1(h * 0.3)} ${r1(w)} ${r1(h / 2)}S${r1(w - round * 0.2)} ${r1(h)} ${r1(w - round)} ${r1(h)}H0Z`
    case 'amphora':
      return `M0 ${r1(h / 2)}L${r1(round)} 0H${r1(w - round)}L${r1(w)} ${r1(h / 2)}L${r1(w - round)} ${r1(h)}H${r1(round)}Z`
  }
}
