import { readFileSync } from 'node:fs'
import { createInterface } from 'node:readline'
import { Writable } from 'node:stream'
import type { Env } from '../env.ts'

/** The passphrase of backups from the settings: itself, or the first line of a file. */
export function settledPassphrase(env: Pick<Env, 'BACKUP_PASSPHRASE' | 'BACKUP_PASSPHRASE_FILE'>): string | undefined {
  if (env.BACKUP_PASSPHRASE !== undefined) return env.BACKUP_PASSPHRASE
  if (env.BACKUP_PASSPHRASE_FILE === undefined) return undefined
  const [line = ''] = readFileSync(env.BACKUP_PASSPHRASE_FILE, 'utf8').split(/\r?\n/)
  if ([...line].length < SHORTEST) throw new Error(TOO_SHORT)
  return line
}

/** With nothing else between a stolen file and its content, the rule for a password that stands alone holds: NIST SP 800-63B-4. */
export const SHORTEST = 15
export const TOO_SHORT = `The backup passphrase must have at least ${SHORTEST} characters`

/** Asks at the terminal, unseen. @throws Error where there is no terminal */
export async function askPassphrase(words: string): Promise<string> {
  if (!process.stdin.isTTY) {
    throw new Error('Set BACKUP_PASSPHRASE, or BACKUP_PASSPHRASE_FILE, or run this at a terminal.')
  }
  process.stdout.write(words)
  const unseen = new Writable({ write: (_chunk, _encoding, done) => done() })
  const lines = createInterface({ input: process.stdin, output: unseen, terminal: true })
  const line = await new Promise<string>((done) => lines.question('', done))
  lines.close()
  process.stdout.write('\n')
  return line
}

/** A new passphrase is asked for twice. */
export async function askNewPassphrase(): Promise<string> {
  const first = await askPassphrase('Passphrase for this backup: ')
  if ([...first].length < SHORTEST) throw new Error(TOO_SHORT)
  if ((await askPassphrase('The same again: ')) !== first) throw new Error('The two passphrases differ.')
  return first
}
