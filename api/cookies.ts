/** Cookies of ours: out of reach of scripts, and bound to this host over https. */
import type { Context } from 'hono'
import { deleteCookie, getCookie, setCookie } from 'hono/cookie'
import type { AppEnv } from './routes/route.ts'

/** Lax: a link from a mail opens signed in; nothing else from elsewhere carries the cookie along. */
export function putCookie(c: Context<AppEnv>, name: string, secret: string, hours: number): void {
  const options = { httpOnly: true, sameSite: 'Lax', path: '/', maxAge: hours * 3600 } as const
  if (c.var.secure) setCookie(c, name, secret, { ...options, secure: true, prefix: 'host' })
  else setCookie(c, name, secret, options)
}

export const readCookie = (c: Context<AppEnv>, name: string) => getCookie(c, name, c.var.secure ? 'host' : undefined)

export const dropCookie = (c: Context<AppEnv>, name: string) =>
  void deleteCookie(c, c.var.secure ? `__Host-${name}` : name, { path: '/', secure: c.var.secure })
