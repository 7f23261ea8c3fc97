import { execFile } from 'node:child_process'
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { promisify } from 'node:util'

const run = promisify(execFile)

/** A phone's place in the tests: a real subscriber (vdirsyncer) and a real calendar (khal), in a home of their own. */
export interface Subscriber {
  readonly sync: () => Promise<void>
  /** What the calendar lists from a local time on, one line an event. */
  readonly list: (from: string, days: number) => Promise<string[]>
  readonly close: () => void
}

const MISSING = 'vdirsyncer and khal are needed. Install them with: apt-get install -y vdirsyncer khal'

export async function createSubscriber(url: string, zone: string): Promise<Subscriber> {
  const home = mkdtempSync(join(tmpdir(), 'leesway-phone-'))
  const path = (...parts: string[]) => join(home, ...parts)
  for (const folder of ['config/vdirsyncer', 'config/khal', 'events/feed', 'state', 'cache', 'share'])
    mkdirSync(path(folder), { recursive: true })
  writeFileSync(
    path('config/vdirsyncer/config'),
    [
      '[general]',
      `status_path = "${path('state')}"`,
      '[pair feed]',
      'a = "here"',
      'b = "there"',
      'collections = null',
      'conflict_resolution = "b wins"',
      '[storage here]',
      'type = "filesystem"',
      `path = "${path('events/feed')}"`,
      'fileext = ".ics"',
      '[storage there]',
      'type = "http"',
      `url = "${url}"`,
      '',
    ].join('\n'),
  )
  writeFileSync(
    path('config/khal/config'),
    [
      '[calendars]',
      '[[feed]]',
      `path = ${path('events/feed')}`,
      'readonly = True',
      '[locale]',
      `local_timezone = ${zone}`,
      `default_timezone = ${zone}`,
      'timeformat = %H:%M',
      'dateformat = %Y-%m-%d',
      'longdateformat = %Y-%m-%d',
      'datetimeformat = %Y-%m-%d %H:%M',
      'longdatetimeformat = %Y-%m-%d %H:%M',
      '[sqlite]',
      `path = ${path('cache/khal.db')}`,
      '',
    ].join('\n'),
  )
  const env = {
    PATH: process.env.PATH ?? '',
    HOME: home,
    XDG_CONFIG_HOME: path('config'),
    XDG_DATA_HOME: path('share'),
    XDG_CACHE_HOME: path('cache'),
    LC_ALL: 'C.UTF-8',
    TZ: zone,
  }
  const call = async (command: string, args: readonly string[]): Promise<string> => {
    try {
      return (await run(command, [...args], { env, timeout: 60_000 })).stdout
    } catch (e) {
      if ((e as NodeJS.ErrnoException).code === 'ENOENT') throw new Error(MISSING)
      throw e
    }
  }
  await call('vdirsyncer', ['discover'])
  return {
    sync: async () => void (await call('vdirsyncer', ['sync'])),
    list: async (from, days) =>
      (
        await call('khal', [
          'list',
          '--format',
          '{start-date} {start-time}-{end-time} {title} @ {location}',
          '--day-format',
          '',
          from,
          `${days}d`,
        ])
      )
        .split('\n')
        .map((l) => l.trim())
        .filter(Boolean),
    close: () => rmSync(home, { recursive: true, force: true }),
  }
}
