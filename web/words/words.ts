/** The floor's words in the language of whoever is signed in. English is here; another language is fetched when it is spoken. */
import { createSignal } from 'solid-js'
import { EN } from './en/index.ts'
import { arithmeticIn, basisIn, cautionIn, detailIn, filled, stepIn, thingIn } from './speech.ts'
import type { Catalogue, Word } from './types.ts'

export const TONGUES = [
  { value: 'en', label: 'English' },
  { value: 'es', label: 'Español' },
  { value: 'fr', label: 'Français' },
  { value: 'pt', label: 'Português' },
  { value: 'it', label: 'Italiano' },
  { value: 'de', label: 'Deutsch' },
] as const
export type Tongue = (typeof TONGUES)[number]['value']

const LOAD: Readonly<Record<Catalogue['language'], () => Promise<Catalogue>>> = {
  es: async () => (await import('./es/index.ts')).ES,
  fr: async () => (await import('./fr/index.ts')).FR,
  pt: async () => (await import('./pt/index.ts')).PT,
  it: async () => (await import('./it/index.ts')).IT,
  de: async () => (await import('./de/index.ts')).DE,
}

const [catalogue, setCatalogue] = createSignal<Catalogue>()

/** The words beside English, where one is spoken. */
export const spoken = catalogue

/** What is spoken now; `en` until another catalogue is here. */
export const tongue = (): Tongue => catalogue()?.language ?? 'en'

/** No native speaker has read these words yet. */
export const isUnread = (): boolean => catalogue()?.readByNative === false

const isCatalogued = (language: string): language is Catalogue['language'] => language in LOAD

/** The first of a device's languages that there are words for, `pt-BR` as `pt`; English where there are none. */
export function tongueOf(languages: readonly string[]): Tongue {
  const known = languages.map((language) => language.toLowerCase().split('-')[0])
  return TONGUES.find(({ value }) => value === known.find((one) => TONGUES.some((t) => t.value === one)))?.value ?? 'en'
}

let wanted = ''

/** Speaks a language from now on. Without a connection, and without the words on this phone, English stays. */
export async function speak(language: string): Promise<void> {
  wanted = language
  if (!isCatalogued(language)) {
    setCatalogue(undefined)
    return
  }
  if (catalogue()?.language === language) return
  const loaded = await LOAD[language]().catch(() => undefined)
  // Somebody may have signed in meanwhile, with a language of their own.
  if (wanted === language) setCatalogue(loaded)
}

/** Before anybody is signed in, the device says what is read on it. */
export const speakAsDevice = (): void => void speak(tongueOf(navigator.languages))

export const say = (word: Word, values?: Readonly<Record<string, string | number>>): string =>
  filled((catalogue()?.ui ?? EN)[word], values)

export const sayStep = (task: { readonly step: string; readonly name: string }): string =>
  stepIn(catalogue(), task.step, task.name)
export const sayCaution = (caution: string): string => cautionIn(catalogue(), caution)
export const sayDetail = (detail: string, number: (value: number, places?: number) => string): string =>
  detailIn(catalogue(), detail, (figure) => figureIn(figure, number))
/** The arithmetic of a dose and what it stands on, in one line. */
export const sayDoseWhy = (
  dose: { readonly arithmetic: string; readonly basis: string },
  number: (value: number, places?: number) => string,
): string => {
  const figures = (figure: string) => figureIn(figure, number)
  return `${arithmeticIn(catalogue(), dose.arithmetic, figures)} (${basisIn(catalogue(), dose.basis, say, figures)})`
}
export const sayThing = (thing: string): string => thingIn(catalogue(), thing)

/** `4,180.5` as this language writes it, with as many places as it came with. */
function figureIn(figure: string, number: (value: number, places?: number) => string): string {
  const plain = figure.replaceAll(',', '')
  const value = Number(plain)
  return Number.isFinite(value) ? number(value, plain.split('.')[1]?.length ?? 0) : figure
}
