/** Tells the open screens of a cellar that something changed. One process here; other servers by the database's channel. */
export interface Change {
  readonly cellarId: string
  readonly revision: number
  /** Told apart by it, as our own changes come back over the channel too. */
  readonly id: string
}

/** How far a plan is that people wait for. */
export interface Planning {
  readonly cellarId: string
  /** 0 to 1; absent while nothing is known of it. */
  readonly share?: number
  readonly isOver: boolean
}

export interface Changes {
  /** Tells the screens of this server of a plan in the making. */
  readonly planning: (planning: Planning) => void
  readonly onPlanning: (cellarId: string, listener: (planning: Planning) => void) => () => void
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
  const listeners = listenersOf<Change>()
  const waiting = listenersOf<Planning>()
  const told = new Set<string>()
  const stop = new AbortController()
  return {
    publish: (change) => {
      if (told.has(change.id)) return
      told.add(change.id)
      const oldest = told.values().next().value
      if (told.size > REMEMBERED && oldest !== undefined) told.delete(oldest)
      listeners.tell(change)
    },
    subscribe: listeners.add,
    planning: waiting.tell,
    onPlanning: waiting.add,
    listening: listeners.size,
    close: () => stop.abort(),
    closed: stop.signal,
  }
}

/** Who listens for what happens in each cellar. */
function listenersOf<T extends { readonly cellarId: string }>() {
  const sets = new Map<string, Set<(one: T) => void>>()
  return {
    tell: (one: T) => {
      for (const listener of sets.get(one.cellarId) ?? []) listener(one)
    },
    add: (cellarId: string, listener: (one: T) => void) => {
      const set = sets.get(cellarId) ?? new Set()
      sets.set(cellarId, set.add(listener))
      return () => {
        set.delete(listener)
        if (set.size === 0 && sets.get(cellarId) === set) sets.delete(cellarId)
      }
    },
    size: () => [...sets.values()].reduce((sum, set) => sum + set.size, 0),
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
