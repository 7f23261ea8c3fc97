export type {
  CellarWire,
  ConflictWire,
  LotWire,
  MachineWire,
  PersonWire,
  PhaseWire,
  VesselWire,
} from '../../api/wire.ts'

import type { DrawnTaskWire } from '../../api/wire.ts'

/** The chart, the grid and the calendar know of a task what is drawn. */
export type TaskWire = DrawnTaskWire

export type BrokenWire = TaskWire['broken'][number]
