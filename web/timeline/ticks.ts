/** The date axis: local days decide where lines fall, so a DST day is drawn 23 or 25 hours wide and named once. */
import { type Days, dayIndex, wallMs } from './days.ts'
import { daysShown, type Scale, xOf } from './scale.ts'
import type { Words } from './words.ts'

export interface Ticks {
  /** Months, or days when few are shown. They stay in sight while their span does. */
  readonly upper: readonly {
    readonly x: number
    readonly toX: number
    readonly label: string
    /** Where the label has no room. */
    readonly short?: string
  }[]
  readonly lower: readonly { readonly x: number; readonly label: string; readonly strong: boolean }[]
  readonly lines: readonly { readonly x: number; readonly strong: boolean }[]
}

type Unit = 'hour' | 'day' | 'week' | 'month'

export function layTicks(days: Days, scale: Scale, words: Words, textPx = 12): Ticks {
  const shown = daysShown(scale)
  const dayPx = scale.widthPx / shown
  const unit: Unit = dayPx > 260 ? 'hour' : dayPx > 24 ? 'day' : dayPx > 4 ? 'week' : 'month'
  const first = dayIndex(days, scale.fromMs)
  const last = dayIndex(days, scale.toMs - 1)
  const upper =
    unit === 'hour' ? dayHeads(days, scale, words, first, last) : monthHeads(days, scale, words, first, last)
  return { upper, ...lowerTicks(days, scale, words, unit, first, last, dayPx, textPx) }
}

function dayHeads(days: Days, scale: Scale, words: Words, first: number, last: number): Ticks['upper'] {
  return range(first, last).map((i) => ({
    x: xOf(scale, days.startMs[i] as number),
    toX: xOf(scale, days.startMs[i + 1] as number),
    label: `${words.weekdays[(days.weekday[i] as number) - 1]} ${days.dayOfMonth[i]} ${words.months[(days.month[i] as number) - 1]}`,
  }))
}

function monthHeads(days: Days, scale: Scale, words: Words, first: number, last: number): Ticks['upper'] {
  const heads: { x: number; toX: number; label: string; short: string }[] = []
  for (let i = first; i <= last; i++) {
    const opensMonth = days.dayOfMonth[i] === 1
    if (i > first && !opensMonth) continue
    const x = xOf(scale, days.startMs[i] as number)
    const before = heads.at(-1)
    if (before) before.toX = x
    const wide = scale.widthPx / daysShown(scale) > 2.6
    const name = (wide ? words.months : words.monthsShort)[(days.month[i] as number) - 1] ?? ''
    heads.push({
      x,
      toX: scale.leftPx + scale.widthPx,
      label: days.month[i] === 1 || i === first ? `${name} ${days.year[i]}` : name,
      // A narrow January is told by its year: the other months say which it is.
      short: days.month[i] === 1 ? String(days.year[i]) : name,
    })
  }
  return heads
}

function lowerTicks(
  days: Days,
  scale: Scale,
  words: Words,
  unit: Unit,
  first: number,
  last: number,
  dayPx: number,
  textPx: number,
): Omit<Ticks, 'upper'> {
  const lower: { x: number; label: string; strong: boolean }[] = []
  const lines: { x: number; strong: boolean }[] = []
  for (let i = first; i <= last; i++) {
    const x = xOf(scale, days.startMs[i] as number)
    const monday = days.weekday[i] === 1
    const opensMonth = days.dayOfMonth[i] === 1
    if (unit === 'hour') {
      lines.push({ x, strong: true })
      const stepH = dayPx > 900 ? 1 : dayPx > 460 ? 2 : 4
      for (let h = stepH; h < 24; h += stepH) {
        const hx = xOf(scale, wallMs(days, i, h * 60))
        lower.push({ x: hx, label: String(h).padStart(2, '0'), strong: false })
        if (h % 6 === 0) lines.push({ x: hx, strong: false })
      }
      continue
    }
    if (unit === 'day') {
      const name =
        dayPx > textPx * 4
          ? `${words.weekdays[(days.weekday[i] as number) - 1]} ${days.dayOfMonth[i]}`
          : String(days.dayOfMonth[i])
      lower.push({ x: x + dayPx / 2, label: name, strong: monday })
      lines.push({ x, strong: monday })
    }
    if (unit === 'week' && monday) {
      lower.push({ x, label: String(days.dayOfMonth[i]), strong: false })
      lines.push({ x, strong: false })
    }
    if (opensMonth && unit !== 'day') lines.push({ x, strong: true })
  }
  return { lower, lines }
}

const range = (from: number, to: number): number[] =>
  Array.from({ length: Math.max(0, to - from + 1) }, (_, i) => from + i)
