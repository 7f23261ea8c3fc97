/**
 * What gives way to what when hands or machines are short: 9 last, 0 first. Common practice: fruit and must on the
 * move do not wait; cleaning waits for them; looking and sampling waits for cleaning.
 */
const WEIGHTS: Readonly<Record<string, number>> = {
  receive: 8,
  sort: 8,
  'destem-crush': 8,
  'chill-must': 8,
  'macerate-cold': 8,
  drain: 8,
  'load-press': 8,
  press: 8,
  'press-skins': 8,
  'stop-chill': 8,
  'stop-so2': 8,
  'cool-fruit': 7,
  'empty-press': 7,
  'dose-so2-fruit': 7,
  'dose-juice': 7,
  'chill-juice': 7,
  settle: 7,
  float: 7,
  'rack-juice': 7,
  inoculate: 7,
  'fill-barrels': 7,
  'filter-membrane': 7,
  'prep-line': 6,
  'cut-fractions': 6,
  'rack-gross': 6,
  'post-so2': 6,
  'watch-stop': 6,
  'clean-line': 4,
  'inspect-fruit': 4,
  'check-clarity': 4,
  'juice-panel': 4,
  'check-ferment': 4,
  'set-cooling': 4,
  'sample-block': 3,
  'taste-all': 3,
}

const USUAL = 5

export const weightOf = (step: string): number => WEIGHTS[step] ?? USUAL
