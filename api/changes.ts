/** Tells the open screens of a cellar that something changed. One process here; other servers by the database's channel. */
export interface Change {
  readonly cellarId: string
  readonly revision: number
  /** Told apart by it, as our own changes come back over the channel too. */
  readonly id: string
}

export interface Changes {
  readonly publish: (change: Change) => void
  readonly subscribe: (cellarId: string, listener: (change: Change) => void) => () => void
  readonly listening: () => number
  /** Ends every open stream: the server is stopping. */
  readonly close: () => void
  readonly closed: AbortSignal
}

/** Enough to know a change again when it comes back within a second or two. */
const REMEMBERED = 200

export function createChanges(): Changes {
  const listeners = new Map<string, Set<(change: Change) => void>>()
  const told = new Set<string>()
  const stop = new AbortController()
  return {
    publish: (change) => {
      if (told.has(change.id)) return
      told.add(change.id)
      const oldest = told.values().next().value
      if (told.size > REMEMBERED && oldest !== undefined) told.delete(oldest)
      for (const listener of listeners.get(change.cellarId) ?? []) listener(change)
    },
    subscribe: (cellarId, listener) => {
      const set = listeners.get(cellarId) ?? new Set()
      listeners.set(cellarId, set.add(listener))
      return () => void set.delete(listener)
    },
    listening: () => [...listeners.values()].reduce((sum, set) => sum + set.size, 0),
    close: () => stop.abort(),
    closed: stop.signal,
  }
}

/** The channel of the database on which servers tell each other. */
export const CHANNEL = 'leesway_changes'

/** A change as it stands in a message, or undefined for a message that is none of ours. */
export function changeFrom(message: string): Change | undefined {
  try {
    const c: unknown = JSON.parse(message)
    if (typeof c !== 'object' || c === null) return undefined
    const { cellarId, revision, id } = c as Record<string, unknown>
    if (typeof cellarId !== 'string' || typeof revision !== 'number' || typeof id !== 'string') return undefined
    return { cellarId, revision, id }
  } catch {
    return undefined
  }
}
