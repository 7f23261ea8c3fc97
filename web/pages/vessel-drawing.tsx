import { createUniqueId } from 'solid-js'
import type { VesselWire } from '../../api/wire.ts'

/** Outlines in a box of 40 by 56; the level is drawn inside. */
const OUTLINES: Readonly<Record<VesselWire['kind'], string>> = {
  tank: 'M4 8Q20 2 36 8V48Q20 54 4 48Z',
  'cold-tank': 'M4 8Q20 2 36 8V48Q20 54 4 48Z',
  'floating-lid': 'M4 4H36V50H4Z',
  'pressure-tank': 'M4 14Q4 3 20 3T36 14V42Q36 53 20 53T4 42Z',
  'open-tank': 'M3 6L6 52H34L37 6',
  concrete: 'M20 2C31 2 37 20 37 34C37 47 30 54 20 54S3 47 3 34C3 20 9 2 20 2Z',
  amphora: 'M14 3H26L27 10C37 18 36 32 28 44L23 54H17L12 44C4 32 3 18 13 10Z',
  cask: 'M3 28C3 10 10 3 20 3S37 10 37 28 30 53 20 53 3 46 3 28Z',
  barrel: 'M8 6Q20 3 32 6Q39 28 32 50Q20 53 8 50Q1 28 8 6Z',
  puncheon: 'M8 6Q20 3 32 6Q39 28 32 50Q20 53 8 50Q1 28 8 6Z',
  keg: 'M9 10Q9 5 20 5T31 10V46Q31 51 20 51T9 46Z',
}

/** How full it is, as a level in its own outline. Decoration: the figures stand beside it. */
export function VesselDrawing(props: { readonly kind: VesselWire['kind']; readonly share: number }) {
  const id = createUniqueId()
  const top = () => 54 - 51 * props.share
  return (
    <svg width="40" height="56" viewBox="0 0 40 56" aria-hidden="true">
      <clipPath id={id}>
        <path d={OUTLINES[props.kind]} />
      </clipPath>
      <g clip-path={`url(#${id})`}>
        <rect x="0" y={top()} width="40" height={56 - top()} fill="var(--juice-pale)" />
        <path d={`M0 ${top()}H40`} stroke="var(--ink)" stroke-width={props.share > 0 ? 1.5 : 0} />
      </g>
      <path d={OUTLINES[props.kind]} fill="none" stroke="var(--ink)" stroke-width="1.5" stroke-linejoin="round" />
    </svg>
  )
}
