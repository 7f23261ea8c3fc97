/** Two grounds and six hues. Every stroke stands at 3:1 or more against its ground (WCAG 2.2, 1.4.11); tests compute it. */
import type { Family } from '../api/protocol/types.ts'

export interface Palette {
  readonly name: 'day' | 'night' | 'forced' | 'paper'
  readonly ground: string
  readonly ink: string
  /** Small print beside ink: still 4.5:1. */
  readonly quiet: string
  /** Hairlines: at most 1.3:1, seen and not read. */
  readonly hair: string
  /** Nights and closed days. */
  readonly shade: string
  readonly kinds: Readonly<Record<Family, string>>
  readonly tints: Readonly<Record<Family, string>>
  readonly late: string
  readonly conflict: string
  readonly done: string
  readonly focus: string
  readonly allowed: string
}

export const DAY: Palette = {
  name: 'day',
  ground: '#FBF9F4',
  ink: '#1B1E23',
  quiet: '#5A5F66',
  hair: '#E4E1D9',
  shade: '#F1EEE7',
  kinds: {
    juice: '#8A9352',
    ferment: '#A64E01',
    check: '#075395',
    move: '#47887C',
    lees: '#42094C',
    protect: '#3A3F42',
  },
  tints: {
    juice: '#E9ECCF',
    ferment: '#F8DCC4',
    check: '#CFE0F2',
    move: '#D2E9E3',
    lees: '#EAD9EE',
    protect: '#DDDFE1',
  },
  late: '#B00020',
  conflict: '#B00020',
  done: '#6B7078',
  focus: '#0B3FC4',
  allowed: '#E3EBDD',
}

export const NIGHT: Palette = {
  name: 'night',
  ground: '#12161C',
  ink: '#F2F0EA',
  quiet: '#A3A8AF',
  hair: '#252A32',
  shade: '#0C0F14',
  kinds: {
    juice: '#E6CF78',
    ferment: '#E07E34',
    check: '#7CB8F5',
    move: '#467A71',
    lees: '#AD6EAF',
    protect: '#EBF0F4',
  },
  tints: {
    juice: '#38331A',
    ferment: '#44260F',
    check: '#17304A',
    move: '#12302B',
    lees: '#372238',
    protect: '#2B3038',
  },
  late: '#FF7B87',
  conflict: '#FF7B87',
  done: '#8B919B',
  focus: '#A9C8FF',
  allowed: '#1E2B22',
}

/** Black ink on white: hatches and outlines must carry everything. */
export const PAPER: Palette = {
  ...DAY,
  name: 'paper',
  ground: '#FFFFFF',
  ink: '#000000',
  quiet: '#444444',
  hair: '#D5D5D5',
  shade: '#F2F2F2',
}

export interface SystemColours {
  readonly canvas: string
  readonly canvasText: string
  readonly highlight: string
  readonly grayText: string
}

/** Under forced colours the hues drop and the shapes stay. */
export function forcedPalette(colours: SystemColours): Palette {
  const one = <T>(value: T): Record<Family, T> => ({
    juice: value,
    ferment: value,
    check: value,
    move: value,
    lees: value,
    protect: value,
  })
  return {
    name: 'forced',
    ground: colours.canvas,
    ink: colours.canvasText,
    quiet: colours.canvasText,
    hair: colours.grayText,
    shade: colours.canvas,
    kinds: one(colours.canvasText),
    tints: one(colours.canvas),
    late: colours.highlight,
    conflict: colours.highlight,
    done: colours.grayText,
    focus: colours.highlight,
    allowed: colours.canvas,
  }
}

/** WCAG 2.2 contrast ratio of two #RRGGBB colours. Source: W3C, WCAG 2.2, definitions of relative luminance and contrast ratio. */
export function contrast(a: string, b: string): number {
  const [light, dark] = [luminance(a), luminance(b)].sort((p, q) => q - p) as [number, number]
  return (light + 0.05) / (dark + 0.05)
}

function luminance(hex: string): number {
  const part = (at: number) => {
    const share = Number.parseInt(hex.slice(at, at + 2), 16) / 255
    return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4
  }
  return 0.2126 * part(1) + 0.7152 * part(3) + 0.0722 * part(5)
}
