import { createReadStream, createWriteStream } from 'node:fs'
import { chmod, mkdir, open, rename, rm, stat } from 'node:fs/promises'
import { dirname } from 'node:path'
import { Readable } from 'node:stream'
import { pipeline } from 'node:stream/promises'
import type { ReadableStream as WebStream } from 'node:stream/web'
import { createGunzip, createGzip } from 'node:zlib'
import { Decrypter, Encrypter } from 'age-encryption'
import { BadBackup } from '../../db/backup/format.ts'

/**
 * A backup on the disk: gzip, and around it, with a passphrase, the age format (age-encryption.org/v1: scrypt and
 * ChaCha20-Poly1305 in chunks that cannot be cut or swapped unseen), which other programs can open too.
 */
const AGE_MAGIC = Buffer.from('age-encryption.org/v1')
const GZIP_MAGIC = Buffer.from([0x1f, 0x8b])

/** The owner may read it, nobody else. */
const PRIVATE = 0o600

const toWeb = (source: AsyncIterable<Uint8Array>) => Readable.toWeb(Readable.from(source)) as ReadableStream<Uint8Array>
const fromWeb = (stream: ReadableStream<Uint8Array>) => Readable.fromWeb(stream as WebStream<Uint8Array>)

/**
 * Writes a file that appears only when it is whole and on the disk.
 *
 * @param workFactor log2 of scrypt's N; 18 as the format's own program has it
 */
export async function writeSealed(
  to: string,
  source: AsyncIterable<Uint8Array>,
  passphrase: string | undefined,
  workFactor = 18,
): Promise<void> {
  await mkdir(dirname(to), { recursive: true, mode: 0o700 })
  const part = `${to}.part`
  try {
    const rows = Readable.from(source)
    const packed = rows.pipe(createGzip())
    rows.on('error', (error) => packed.destroy(error))
    const sealed = passphrase === undefined ? packed : fromWeb(await encrypted(packed, passphrase, workFactor))
    await pipeline(sealed, createWriteStream(part, { mode: PRIVATE, flush: true }))
    await chmod(part, PRIVATE)
    await rename(part, to)
    await syncFolder(dirname(to))
  } catch (error) {
    await rm(part, { force: true })
    throw error
  }
}

function encrypted(source: AsyncIterable<Uint8Array>, passphrase: string, workFactor: number) {
  const encrypter = new Encrypter()
  encrypter.setPassphrase(passphrase)
  encrypter.setScryptWorkFactor(workFactor)
  return encrypter.encrypt(toWeb(source))
}

async function syncFolder(folder: string): Promise<void> {
  if (process.platform === 'win32') return
  const handle = await open(folder, 'r')
  try {
    await handle.sync()
  } finally {
    await handle.close()
  }
}

/** Is the file locked with a passphrase? @throws BadBackup for a file that is neither kind */
export async function isSealed(path: string): Promise<boolean> {
  const isFile = await stat(path).then(
    (there) => there.isFile(),
    () => false,
  )
  if (!isFile) throw new BadBackup(`There is no file ${path}.`)
  const file = await open(path, 'r')
  try {
    const start = Buffer.alloc(AGE_MAGIC.length)
    await file.read(start, 0, start.length, 0)
    if (start.equals(AGE_MAGIC)) return true
    if (start.subarray(0, GZIP_MAGIC.length).equals(GZIP_MAGIC)) return false
    throw new BadBackup('This file is not a backup of Leesway.')
  } finally {
    await file.close()
  }
}

/** What is inside. @throws BadBackup without the right passphrase, or where the file is damaged */
export async function openSealed(path: string, passphrase: string | undefined): Promise<AsyncIterable<Uint8Array>> {
  if (!(await isSealed(path))) return readable(createReadStream(path).pipe(createGunzip()))
  if (passphrase === undefined) throw new BadBackup('This backup is locked with a passphrase. Set BACKUP_PASSPHRASE.')
  const decrypter = new Decrypter()
  decrypter.addPassphrase(passphrase)
  const file = createReadStream(path)
  const opened = await decrypter.decrypt(Readable.toWeb(file) as ReadableStream<Uint8Array>).catch(() => {
    file.destroy()
    throw new BadBackup('The passphrase does not open this backup.')
  })
  const inside = fromWeb(opened)
  const unpacked = createGunzip()
  inside.on('error', (error) => unpacked.destroy(error))
  return readable(inside.pipe(unpacked))
}

/** Damage shows while reading, in the words of whichever layer finds it first. */
async function* readable(source: AsyncIterable<Uint8Array>): AsyncGenerator<Uint8Array> {
  try {
    yield* source
  } catch (error) {
    throw new BadBackup(`The backup is damaged: ${error instanceof Error ? error.message : String(error)}`)
  }
}
