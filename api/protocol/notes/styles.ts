import type { Style } from '../choices.ts'

/** A style fills in defaults; every answer stays free. */
export const STYLE_NOTES: Readonly<Record<Style, { readonly label: string; readonly does: string }>> = {
  crisp: { label: 'Crisp aromatic', does: 'Cool, protected, tank only, no malolactic, bottled in its first winter.' },
  textured: {
    label: 'Textured, barrel',
    does: 'Whole bunch, barrels, malolactic, lees stirred, bottled after a year.',
  },
  offdry: { label: 'Off-dry', does: 'Stopped cold with a little sugar left, kept cold, sterile filtered.' },
  sparkling: { label: 'Base for sparkling', does: 'Picked early, pressed in fractions, low SO2, ready for tirage.' },
  orange: { label: 'On skins', does: 'Fermented and kept on skins for weeks, then pressed; little added.' },
  neutral: { label: 'Neutral, volume', does: 'Machine picked, floated, tank fermented dry, early to bottle or bulk.' },
  sweet: { label: 'Late harvest sweet', does: 'Pressed long and slow, stopped with much sugar left, long rest.' },
}
