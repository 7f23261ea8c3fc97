/** What somebody reports from the floor, checked. The plan raises work from it. */
import { z } from '@hono/zod-openapi'
import { type Ground, vesselNamed } from './acts.ts'
import { id, moment, opId, prose } from './fields.ts'
import { refuseFar, refuseFuture } from './moments.ts'
import { fieldProblem } from './problem.ts'
import { TROUBLE_KINDS, type Trouble } from './protocol/facts.ts'
import type { Because } from './protocol/moved.ts'
import { Temporal } from './time.ts'

export const troubleBody = z
  .strictObject({
    id: opId,
    kind: z.enum(TROUBLE_KINDS).openapi({ example: 'smell' }),
    lot: id.optional().openapi({ description: 'Lot id or code' }),
    vessel: id.optional().openapi({ description: 'Vessel code or id' }),
    taskKey: z.string().max(64).optional(),
    words: prose(2000).optional(),
    at: moment.optional(),
  })
  .openapi('NewTrouble', { example: { id: '00000000-0000-4000-8000-000000000000', kind: 'smell', lot: 'L01' } })

export type TroubleBody = z.output<typeof troubleBody>

type TroubleGround = Pick<Ground, 'vessels' | 'nowAt' | 'personId'> & {
  readonly lots: readonly { readonly id: string; readonly code: string }[]
  /** What lies in vessels now: who names a vessel alone means the wine in it. */
  readonly stock: readonly { readonly lotId: string; readonly vesselId: string }[]
}

/** @throws a problem that names the field */
export function troubleFrom(body: TroubleBody, ground: TroubleGround): Trouble {
  const at = body.at ? Temporal.Instant.from(body.at) : ground.nowAt
  refuseFuture(at, ground.nowAt, '#/at')
  refuseFar(at, ground.nowAt, '#/at')
  const lot = ground.lots.find((one) => one.id === body.lot || one.code === body.lot)
  if (body.lot && !lot) throw fieldProblem('#/lot', `is not known: there is no lot ${body.lot}`)
  const vesselId = body.vessel === undefined ? undefined : vesselNamed(body.vessel, ground, '#/vessel')
  const lotId = lot?.id ?? ground.stock.find((inIt) => inIt.vesselId === vesselId)?.lotId
  if (body.kind === 'other' && !body.words?.trim()) throw fieldProblem('#/words', 'is missing: what is wrong')
  return {
    id: body.id,
    kind: body.kind,
    ...(lotId ? { lotId } : {}),
    ...(vesselId ? { vesselId } : {}),
    ...(body.taskKey === undefined ? {} : { taskKey: body.taskKey }),
    words: body.words ?? '',
    personId: ground.personId,
    at,
  }
}

const KIND_WORDS: Readonly<Record<Trouble['kind'], string>> = {
  smell: 'a smell of rotten egg',
  hot: 'too much heat',
  foam: 'foam over',
  spill: 'a spill',
  leak: 'a leak',
  slow: 'a slow ferment',
  vinegar: 'a smell of vinegar',
  malolactic: 'malolactic by itself',
  started: 'juice that ferments by itself',
  cloudy: 'juice that will not clear',
  machine: 'a broken machine',
  other: 'trouble',
}

/** What tasks that move are told. */
export const becauseOfTrouble = (trouble: Trouble, lotCode: string | undefined): Because => ({
  ...(trouble.lotId ? { lotId: trouble.lotId } : {}),
  asks: true,
  seen: true,
  words: `${KIND_WORDS[trouble.kind]} was reported${lotCode ? ` of ${lotCode}` : ''}`,
})
