import type { CellarWire } from '../../api/wire.ts'
import { NumberField, Options, Select, TextField } from '../parts/field.tsx'
import { wrongAt } from '../parts/states.tsx'
import { LANGUAGES, type Language, zoneOptions } from '../zones.ts'

export interface CellarForm {
  readonly name: string
  readonly hemisphere: CellarWire['hemisphere']
  readonly vintage: number | undefined
  readonly zone: string
  readonly units: CellarWire['units']
  readonly sugarUnit: CellarWire['sugarUnit']
  readonly language: Language
}

/** What every date and number of the cellar stands on. */
export function CellarFields(props: {
  readonly form: CellarForm
  readonly change: (part: Partial<CellarForm>) => void
  readonly error?: unknown
}) {
  return (
    <>
      <TextField
        label="Name of the cellar"
        value={props.form.name}
        onInput={(name) => props.change({ name })}
        required
        maxLength={80}
        wrong={wrongAt(props.error, '#/name')}
      />
      <div class="columns">
        <Select
          label="Time zone"
          hint="Belongs to the cellar: every task is told in it, wherever you read."
          value={props.form.zone}
          options={zoneOptions()}
          onInput={(zone) => props.change({ zone })}
          wrong={wrongAt(props.error, '#/zone')}
        />
        <NumberField
          label="Vintage"
          min={2000}
          max={2100}
          step={1}
          value={props.form.vintage}
          onInput={(vintage) => props.change({ vintage })}
          required
          wrong={wrongAt(props.error, '#/vintage')}
        />
      </div>
      <Options
        label="Hemisphere"
        value={props.form.hemisphere}
        options={[
          { value: 'south', label: 'South, harvest from February' },
          { value: 'north', label: 'North, harvest from August' },
        ]}
        onInput={(hemisphere) => props.change({ hemisphere })}
      />
      <Options
        label="Volumes and temperatures"
        value={props.form.units}
        options={[
          { value: 'metric', label: 'Litres, °C' },
          { value: 'us', label: 'US gallons, °F' },
        ]}
        onInput={(units) => props.change({ units })}
      />
      <Options
        label="Sugar is read in"
        value={props.form.sugarUnit}
        options={[
          { value: 'brix', label: '°Brix' },
          { value: 'density', label: 'kg/m³' },
          { value: 'oechsle', label: '°Oechsle' },
          { value: 'baume', label: '°Baumé' },
          { value: 'kmw', label: '°KMW' },
        ]}
        onInput={(sugarUnit) => props.change({ sugarUnit })}
      />
      <Select
        label="Language"
        value={props.form.language}
        options={LANGUAGES}
        onInput={(language) => props.change({ language })}
      />
    </>
  )
}
