import type { LotWire } from '../../api/wire.ts'
import { brixOfShown, SUGAR_LABEL, sugarShown } from '../format.ts'
import { NumberField } from '../parts/field.tsx'
import { wrongAt } from '../parts/states.tsx'
import { useSession } from '../session.tsx'

type Fruit = LotWire['fruit']

/** What the block or the scale says of the fruit, in the cellar's units. Limits are those of the wire. */
export function FruitFields(props: {
  readonly fruit: Partial<Fruit>
  readonly change: (part: Partial<Fruit>) => void
  readonly error?: unknown
}) {
  const session = useSession()
  const format = session.format
  const sugarUnit = () => session.cellar().sugarUnit
  return (
    <div class="columns">
      <NumberField
        label="Fruit"
        unit="t"
        min={0.01}
        max={500}
        value={props.fruit.tonnes}
        onInput={(tonnes) => props.change({ tonnes })}
        required
        wrong={wrongAt(props.error, '#/fruit/tonnes')}
      />
      <NumberField
        label="Sugar"
        unit={SUGAR_LABEL[sugarUnit()]}
        min={Math.round(sugarShown(8, sugarUnit()))}
        max={Math.round(sugarShown(sugarUnit() === 'kmw' ? 30 : 45, sugarUnit()))}
        value={
          props.fruit.brix === undefined
            ? undefined
            : Math.round(sugarShown(props.fruit.brix ?? 0, sugarUnit()) * 10) / 10
        }
        onInput={(shown) => props.change({ brix: shown === undefined ? undefined : brixOr(shown, sugarUnit()) })}
        required
        wrong={wrongAt(props.error, '#/fruit/brix')}
      />
      <NumberField
        label="pH"
        min={2.5}
        max={4.5}
        step={0.01}
        value={props.fruit.pH}
        onInput={(pH) => props.change({ pH })}
        required
        wrong={wrongAt(props.error, '#/fruit/pH')}
      />
      <NumberField
        label="Acid, as tartaric"
        unit="g/L"
        min={1}
        max={20}
        value={props.fruit.acidGPerLTartaric}
        onInput={(acidGPerLTartaric) => props.change({ acidGPerLTartaric })}
        required
      />
      <NumberField
        label="Malic acid"
        unit="g/L"
        min={0}
        max={12}
        value={props.fruit.malicGPerL}
        onInput={(malicGPerL) => props.change({ malicGPerL })}
        required
      />
      <NumberField
        label="Yeast nitrogen"
        unit="mg/L"
        min={0}
        max={600}
        value={props.fruit.yanMgPerL}
        onInput={(yanMgPerL) => props.change({ yanMgPerL })}
        required
      />
      <NumberField
        label="Fruit arrives at"
        unit={format().tempUnit}
        min={Math.round(format().tempShown(-2))}
        max={Math.round(format().tempShown(45))}
        value={
          props.fruit.fruitTempC === undefined
            ? undefined
            : Math.round(format().tempShown(props.fruit.fruitTempC ?? 0) * 10) / 10
        }
        onInput={(shown) => props.change({ fruitTempC: shown === undefined ? undefined : format().tempC(shown) })}
        required
      />
      <NumberField
        label="Rot"
        unit="%"
        min={0}
        max={100}
        value={props.fruit.rotPct}
        onInput={(rotPct) => props.change({ rotPct })}
        required
      />
      <NumberField
        label="Juice expected"
        unit="L/t"
        min={200}
        max={850}
        value={props.fruit.yieldLPerT}
        onInput={(yieldLPerT) => props.change({ yieldLPerT })}
        required
      />
    </div>
  )
}

function brixOr(shown: number, unit: Parameters<typeof brixOfShown>[1]): number {
  try {
    return Math.round(brixOfShown(shown, unit) * 100) / 100
  } catch {
    return shown // out of the scale's range: the server says so at the field
  }
}
