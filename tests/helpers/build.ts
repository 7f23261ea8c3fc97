import { join } from 'node:path'
import { build } from 'vite'

/** The browser tests look at the screens as they are in the tree now, never at a build of another day. */
export async function setup(): Promise<void> {
  await build({ configFile: join(import.meta.dirname, '../../web/vite.config.ts'), logLevel: 'warn' })
}
