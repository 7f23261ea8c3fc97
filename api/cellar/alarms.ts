import { within } from './guard.ts'

export interface FermentReading {
  readonly hour: number
  readonly apparentBrix?: number
  readonly tempC?: number
}

export type AlarmKind = 'no-start' | 'slow' | 'stuck' | 'fast' | 'behind' | 'hot' | 'swing' | 'no-reading'

export interface FermentAlarm {
  readonly kind: AlarmKind
  readonly level: 'warn' | 'act'
  readonly hour: number
  readonly words: string
}

export interface WatchInput {
  readonly startH: number
  readonly nowH: number
  readonly startBrix: number
  readonly setC: number
  readonly readings: readonly FermentReading[]
  /** Brix that the fitted forecast had fallen over the last 48 h. */
  readonly expectedFallBrix48h?: number
}

/**
 * What the readings say now. Slow: under 0.5 Brix a day above 5 Brix; stuck: under 0.2 Brix in 48 h above 0; fast: over 22 kg/m3
 * (5.1 Brix) a day; no start: no fall of half a Brix by 72 h, decision by 96 h; hot: 2 C over the set point; swing: 3 C in 12 h.
 * Common practice.
 */
export function fermentAlarms(input: WatchInput): readonly FermentAlarm[] {
  within('startBrix', input.startBrix, 10, 45, 'Brix')
  within('setC', input.setC, 5, 35, 'C')
  const ordered = input.readings.filter((r) => r.hour <= input.nowH).toSorted((a, b) => a.hour - b.hour)
  const sugar = ordered.flatMap((r) => (r.apparentBrix === undefined ? [] : [{ hour: r.hour, brix: r.apparentBrix }]))
  const warmth = ordered.flatMap((r) => (r.tempC === undefined ? [] : [{ hour: r.hour, tempC: r.tempC }]))
  return [...startAlarms(input, sugar), ...slopeAlarms(input, sugar), ...warmthAlarms(input, warmth)]
}

interface Sugar {
  readonly hour: number
  readonly brix: number
}

function startAlarms(input: WatchInput, sugar: readonly Sugar[]): FermentAlarm[] {
  const last = sugar.at(-1)
  const since = input.nowH - input.startH
  const silent = input.nowH - Math.max(input.startH, last?.hour ?? input.startH)
  const missing: FermentAlarm[] =
    silent > 18
      ? [alarm('no-reading', 'warn', input.nowH, `No sugar reading for ${Math.round(silent)} h; twice a day is usual.`)]
      : []
  const fallen = last ? input.startBrix - last.brix : 0
  if (!last || fallen >= 0.5 || since < 72) return missing
  const late = since >= 96
  return [
    ...missing,
    alarm(
      'no-start',
      late ? 'act' : 'warn',
      input.nowH,
      late
        ? 'No start after 96 h: decide now to warm, add a starter or pitch yeast.'
        : 'No start after 72 h: warm it, smell it, prepare a starter.',
    ),
  ]
}

function slopeAlarms(input: WatchInput, sugar: readonly Sugar[]): FermentAlarm[] {
  const last = sugar.at(-1)
  if (!last || input.startBrix - last.brix < 0.5) return []
  const day = sugar.findLast((r) => last.hour - r.hour >= 20)
  const twoDays = sugar.findLast((r) => last.hour - r.hour >= 44)
  const perDay = day ? ((day.brix - last.brix) * 24) / (last.hour - day.hour) : undefined
  const found: FermentAlarm[] = []
  if (twoDays && last.brix > 0 && twoDays.brix - last.brix < 0.2)
    found.push(alarm('stuck', 'act', last.hour, `Under 0.2 Brix in 48 h at ${last.brix} Brix: stuck, plan a rescue.`))
  else if (perDay !== undefined && perDay < 0.5 && last.brix > 5)
    found.push(
      alarm('slow', 'warn', last.hour, `${perDay.toFixed(1)} Brix a day above 5 Brix: warm it or feed it now.`),
    )
  if (perDay !== undefined && perDay > 5.1)
    found.push(alarm('fast', 'act', last.hour, `${perDay.toFixed(1)} Brix a day: too fast, cool down.`))
  const expected = input.expectedFallBrix48h
  if (twoDays && expected !== undefined && expected > 1 && twoDays.brix - last.brix < 0.5 * expected)
    found.push(
      alarm('behind', 'warn', last.hour, `Less than half of the expected fall over 48 h (${expected.toFixed(1)}).`),
    )
  return found
}

function warmthAlarms(input: WatchInput, warmth: readonly { hour: number; tempC: number }[]): FermentAlarm[] {
  const last = warmth.at(-1)
  if (!last) return []
  const swing = warmth.find((r) => last.hour - r.hour <= 12 && Math.abs(r.tempC - last.tempC) > 3)
  return [
    ...(last.tempC > input.setC + 2
      ? [alarm('hot', 'act', last.hour, `${last.tempC} C, set ${input.setC} C: cool now, read again in 2 h.`)]
      : []),
    ...(swing
      ? [
          alarm(
            'swing',
            'warn',
            last.hour,
            `Moved from ${swing.tempC} to ${last.tempC} C in ${Math.round(last.hour - swing.hour)} h.`,
          ),
        ]
      : []),
  ]
}

const alarm = (kind: AlarmKind, level: FermentAlarm['level'], hour: number, words: string): FermentAlarm => ({
  kind,
  level,
  hour,
  words,
})
