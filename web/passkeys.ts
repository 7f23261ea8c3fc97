/** Passkeys, as browsers hand them out. What a person breaks off is no error of ours: it is told in plain words. */
import {
  type PublicKeyCredentialCreationOptionsJSON,
  type PublicKeyCredentialRequestOptionsJSON,
  startAuthentication,
  startRegistration,
} from '@simplewebauthn/browser'
import { call, type Refusal } from './api.ts'
import type { Me } from './queries.ts'

export const canPasskey = (): boolean => typeof PublicKeyCredential === 'function'

const told = (type: string, title: string): Refusal =>
  Object.assign(new Error(title), { problem: { type, title, status: 0 } })

const inWords = (error: unknown): Error => {
  const name = error instanceof Error ? error.name : ''
  if (name === 'InvalidStateError') return told('has-one', 'This device has a passkey for you already.')
  if (name === 'NotAllowedError' || name === 'AbortError')
    return told('broken-off', 'It was broken off, or took too long.')
  return error instanceof Error ? error : new Error(String(error))
}

/** Makes a passkey on this device and keeps it. */
export async function makePasskey(name: string, current: string): Promise<void> {
  const optionsJSON = await call<PublicKeyCredentialCreationOptionsJSON>('POST', '/api/me/passkeys/options', {
    json: { current },
  })
  const made = await startRegistration({ optionsJSON }).catch((error: unknown) => {
    throw inWords(error)
  })
  const { id, rawId, type, authenticatorAttachment, response } = made
  const { clientDataJSON, attestationObject, transports } = response
  await call('POST', '/api/me/passkeys', {
    json: {
      name,
      response: {
        id,
        rawId,
        type,
        ...(authenticatorAttachment ? { authenticatorAttachment } : {}),
        clientExtensionResults: {},
        response: { clientDataJSON, attestationObject, ...(transports ? { transports } : {}) },
      },
    },
  })
}

/** The second step, with a passkey. */
export async function showPasskey(optionsJSON: PublicKeyCredentialRequestOptionsJSON): Promise<Me> {
  const given = await startAuthentication({ optionsJSON }).catch((error: unknown) => {
    throw inWords(error)
  })
  const { id, rawId, type, authenticatorAttachment, response } = given
  const assertion = {
    id,
    rawId,
    type,
    ...(authenticatorAttachment ? { authenticatorAttachment } : {}),
    clientExtensionResults: {},
    response,
  }
  return call<Me>('POST', '/api/session/second', { json: { assertion } })
}
