/** Where the winemaker wants each lot to lie, per hold: settle, ferment, store, cold. Two vessels where the lot is parted. */
export const HOLDS: Readonly<Record<string, Readonly<Record<string, readonly string[]>>>> = {
  L01: { settle: ['T09'], ferment: ['T01'], store: ['T02'], cold: ['T11'] },
  L02: { settle: ['T10'], ferment: ['T07'], store: ['T07'] },
  L03: {
    settle: ['T02'],
    ferment: [...row('A', 1, 5), ...row('B', 1, 11)],
    store: [...row('A', 1, 5), ...row('B', 1, 9)],
    cold: ['T03'],
  },
  // The cask takes 1,840 L of the racked 3,000 L; what four barrels cannot hold goes to kegs.
  L04: { settle: ['T02'], ferment: ['T19', ...row('D', 1, 4)], store: ['T19', ...row('D', 1, 4)] },
  L05: { settle: ['T05', 'T13'], ferment: ['T06', 'T14'], store: ['T05', 'T14'], cold: ['T10'] },
  L06: { settle: ['T07', 'T13'], ferment: ['T12', 'C1', 'C2'], store: ['T12'] },
  L07: { settle: ['T04'], ferment: ['T15'], store: ['T04'], cold: ['T02'] },
  L08: { settle: ['T13'], ferment: row('C', 3, 5), stop: ['T13'] },
  L09: { settle: ['T06'], ferment: ['T08'], store: ['T08'] },
  L10: { ferment: ['T18', 'T20'], store: ['E1'] },
  L11: { settle: ['T03'], ferment: ['T16', 'T17'], store: ['T16', 'T17'] },
  L12: { settle: ['T10'], ferment: ['T09'], store: ['T10'], cold: ['T11'] },
}

function row(letter: string, from: number, to: number): readonly string[] {
  return Array.from({ length: to - from + 1 }, (_, i) => `${letter}${from + i}`)
}
