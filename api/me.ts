/** What a screen needs to know first: who, where, what is still to be done to get in, and whether there is a cellar. */
import type { Context } from 'hono'
import { findAccount, listMemberships } from '../db/queries/accounts.ts'
import { findCellar, listCellars } from '../db/queries/cellars.ts'
import { listSeats } from '../db/queries/devices.ts'
import { countRecoveryCodes, listPasskeys } from '../db/queries/passkeys.ts'
import { findPerson } from '../db/queries/people.ts'
import { acrossCellars } from '../db/wall.ts'
import type { SignedIn } from './auth.ts'
import { deviceOf } from './device.ts'
import type { AppEnv } from './routes/route.ts'
import { secondStep } from './second.ts'

export const signedIn = (c: Context<AppEnv>, who: SignedIn | undefined = c.get('who')) =>
  acrossCellars(async () => ({
    ...(who ? await insideOf(c, who) : await outsideOf(c)),
    device: await phoneOf(c, who),
  }))

async function outsideOf(c: Context<AppEnv>) {
  const second = await secondStep(c)
  return {
    person: null,
    cellar: null,
    cellars: [],
    setup: (await listCellars(c.var.db)).length === 0,
    demo: c.var.demo,
    locked: c.get('locked') ?? false,
    ...(second ? { second } : {}),
  }
}

async function insideOf(c: Context<AppEnv>, who: SignedIn) {
  const { db, demo } = c.var
  const cellar = await findCellar(db, who.cellarId)
  const person = await findPerson(db, who.cellarId, who.personId)
  const account = who.accountId === undefined ? undefined : await findAccount(db, who.accountId)
  const cellars = account && who.proof !== 'link' ? await listMemberships(db, account.id) : []
  return {
    person: person
      ? {
          id: person.id,
          name: person.name,
          role: person.role,
          language: person.language,
          post: person.post,
          version: person.version,
          hasPassword: Boolean(account?.passwordHash),
          ...(account ? { signInName: account.name } : {}),
          proof: who.proof,
          passkeys: account ? (await listPasskeys(db, account.id)).length : 0,
          recoveryCodes: account ? await countRecoveryCodes(db, account.id) : 0,
        }
      : null,
    cellar: cellar ? { id: cellar.id, name: cellar.name } : null,
    cellars: cellars.map((m) => ({ id: m.cellarId, name: m.cellarName, role: m.role })),
    setup: cellar === undefined,
    demo: demo || (cellar?.demo ?? false),
    locked: false,
  }
}

/** The others on this phone, where several share it. */
async function phoneOf(c: Context<AppEnv>, who: SignedIn | undefined) {
  const deviceHash = deviceOf(c)
  if (deviceHash === undefined) return null
  const seats = await listSeats(c.var.db, deviceHash, c.var.now())
  return {
    mine: who?.deviceHash === deviceHash,
    seats: seats.filter((s) => s.id !== who?.sessionId).map((s) => ({ id: s.id, name: s.name })),
  }
}
