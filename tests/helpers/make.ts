import { demoFacts } from '../../api/demo/facts.ts'
import type { Choices, Style } from '../../api/protocol/choices.ts'
import { defaultsFor } from '../../api/protocol/defaults.ts'
import type { Cellar, Facts, Fruit, Lot } from '../../api/protocol/facts.ts'
import { Temporal } from '../../api/time.ts'

export const USUAL_FRUIT: Fruit = {
  tonnes: 4,
  brix: 21.5,
  pH: 3.2,
  acidGPerLTartaric: 7.5,
  malicGPerL: 3,
  yanMgPerL: 180,
  fruitTempC: 14,
  rotPct: 1,
  yieldLPerT: 660,
}

export interface LotWish {
  readonly code?: string
  readonly pickOn?: string
  readonly fruit?: Partial<Fruit>
  readonly choices?: Partial<Choices>
  readonly vesselPins?: Lot['vesselPins']
}

/** A lot of a style, with what a test wants different. */
export function makeLot(style: Style, wish: LotWish = {}): Lot {
  const code = wish.code ?? 'X01'
  const pickOn = Temporal.PlainDate.from(wish.pickOn ?? '2027-03-17')
  return {
    id: code,
    code,
    name: `${style} lot`,
    variety: 'Chardonnay',
    block: 'Block 1',
    place: 'Somewhere',
    vintage: pickOn.year,
    pickOn,
    fruit: { ...USUAL_FRUIT, ...wish.fruit },
    choices: { ...defaultsFor(style), ...wish.choices },
    choicesVersion: 1,
    signed: [],
    parents: [],
    vesselPins: wish.vesselPins ?? {},
  }
}

/** The invented cellar's people, vessels and machines, with other lots. */
export function makeFacts(lots: readonly Lot[], cellar: Partial<Cellar> = {}): Facts {
  const facts = demoFacts()
  return { ...facts, cellar: { ...facts.cellar, ...cellar }, lots }
}

/** Before anything of the vintage. */
export const EARLY = Temporal.Instant.from('2027-01-20T00:00:00Z')
