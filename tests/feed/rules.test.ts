import { describe, expect, it } from 'vitest'
import { writeFeed } from '../../api/feed/write.ts'
import { makeFeedTask, makeSettings, NOW, ZONES } from './make.ts'
import { read } from './reader.ts'
import { FEED_RULES } from './rules.ts'

const tasks = Array.from({ length: 60 }, (_, n) => makeFeedTask(n, { wholeDays: n % 11 === 10 }))
const bodies = ZONES.map((zone) => writeFeed(tasks, makeSettings({ zone }), NOW))
const empty = writeFeed([], makeSettings(), NOW)

it('knows at least 60 rules, each with its own id', () => {
  expect(FEED_RULES.length).toBeGreaterThanOrEqual(60)
  expect(new Set(FEED_RULES.map((r) => r.id)).size).toBe(FEED_RULES.length)
})

describe.each(FEED_RULES)('$id ($section): $says', (rule) => {
  it('holds in six zones and for an empty feed', () => {
    for (const body of [...bodies, empty]) expect(rule.broken(read(body))).toEqual([])
  })

  it('is seen broken when it is', () => {
    const spoiled = rule.spoil(bodies[0]!)
    expect(spoiled).not.toBe(bodies[0])
    let broken: readonly string[]
    try {
      broken = rule.broken(read(spoiled))
    } catch (e) {
      broken = [String(e)]
    }
    expect(broken.length).toBeGreaterThan(0)
  })
})
