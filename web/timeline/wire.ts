export type {
  CellarWire,
  ConflictWire,
  LotWire,
  MachineWire,
  PersonWire,
  PhaseWire,
  TaskWire,
  VesselWire,
} from '../../api/wire.ts'

import type { TaskWire } from '../../api/wire.ts'

export type BrokenWire = TaskWire['broken'][number]
