import { join } from 'node:path'
import { build } from 'vite'

/**
 * The browser tests look at the screens as they are in the tree now, never at a build of another day; and as they are
 * shipped: the tests' own environment would have the libraries' parts for development built in, which are slower.
 */
export async function setup(): Promise<void> {
  const own = process.env.NODE_ENV
  process.env.NODE_ENV = 'production'
  await build({ configFile: join(import.meta.dirname, '../../web/vite.config.ts'), logLevel: 'warn' })
  process.env.NODE_ENV = own
}
