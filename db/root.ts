import { existsSync } from 'node:fs'
import { dirname, join } from 'node:path'

/** The folder of the project, from the sources as from what is built of them. */
export const ROOT = rootFrom(import.meta.dirname)

function rootFrom(folder: string): string {
  if (existsSync(join(folder, 'package.json'))) return folder
  const above = dirname(folder)
  if (above === folder) throw new Error(`expected a package.json above ${import.meta.dirname}`)
  return rootFrom(above)
}
