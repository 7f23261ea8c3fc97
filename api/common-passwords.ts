/**
 * The first passwords that are tried: common words, alone, repeated or strung together, with digits, years and signs
 * around them or in place of letters; and runs along the keyboard or the numbers. Common practice: the words are those
 * that lead published lists of leaked passwords (from memory, verify), and those of the trade. The limit on tries is
 * the wall behind it.
 */
const WORDS = new Set(
  `password passwort motdepasse contrasena senha pass pwd secret geheim
  letmein welcome willkommen bienvenue bienvenido hello hallo hola bonjour login signin open
  iloveyou love lovely baby angel princess sunshine flower butterfly summer winter spring autumn
  monkey dragon tiger lion horse shadow master superman batman spiderman pokemon ninja
  football soccer baseball basketball hockey tennis golf liverpool chelsea arsenal barcelona
  computer internet google windows samsung android apple admin administrator root user test guest demo
  qwerty qwertz azerty asdf zxcv abc abcd abcdef
  changeme change default temp temporary trustno starwars whatever freedom killer access please
  michael jennifer jessica ashley daniel thomas andrew joshua charlie jordan george
  mustang ferrari porsche harley corvette mercedes
  winemaker winery wine wines cellar cellars vineyard vintage harvest grape grapes barrel barrels
  sauvignon chardonnay riesling pinot blanc gris white cuvee leesway lees must press oak
  the my is a i and you me new old one two three best great super big house home`.split(/\s+/),
)

const RUNS = [
  '01234567890123456789',
  'abcdefghijklmnopqrstuvwxyz',
  'qwertyuiopasdfghjklzxcvbnm',
  'qwertzuiopasdfghjklyxcvbnm',
  'azertyuiopqsdfghjklmwxcvbn',
  '1q2w3e4r5t6y7u8i9o0p',
  '1qaz2wsx3edc4rfv5tgb6yhn7ujm',
]

const STANDS_FOR: Readonly<Record<string, string>> = {
  0: 'o',
  1: 'i',
  3: 'e',
  4: 'a',
  5: 's',
  7: 't',
  $: 's',
  '@': 'a',
  '!': 'i',
}

/** @param plain in small letters */
export function isCommon(plain: string, names: readonly string[] = []): boolean {
  const bare = plain.replaceAll(/[^\p{L}\p{N}]/gu, '')
  if (isRun(bare)) return true
  const words = new Set([
    ...WORDS,
    ...names.flatMap((n) => n.toLowerCase().split(/[^\p{L}]+/u)).filter((w) => w.length > 2),
  ])
  const swapped = [...plain].map((sign) => STANDS_FOR[sign] ?? sign).join('')
  return [plain, swapped].some((text) => isOf(words, text.replaceAll(/[^\p{L}]/gu, '')))
}

/** One run along the keyboard or the numbers, there or back, or the same one over and over. */
function isRun(bare: string): boolean {
  if (bare.length < 4) return false
  for (let size = 1; size <= bare.length / 2; size++) {
    if (bare.length % size === 0 && bare === bare.slice(0, size).repeat(bare.length / size)) {
      return size < 4 || isRun(bare.slice(0, size)) || WORDS.has(bare.slice(0, size))
    }
  }
  const back = [...bare].reverse().join('')
  return RUNS.some((run) => run.includes(bare) || run.includes(back))
}

/** Whether the text is nothing but such words, three at most: four plain words of one's own are a good password. */
function isOf(words: ReadonlySet<string>, text: string, most = 3): boolean {
  if (text === '') return false
  if (words.has(text)) return true
  if (most === 1) return false
  for (let cut = 1; cut < text.length; cut++) {
    if (words.has(text.slice(0, cut)) && isOf(words, text.slice(cut), most - 1)) return true
  }
  return false
}
