import type { Changes } from './changes.ts'
import type { Planner } from './planning.ts'
import type { Progress } from './schedule/types.ts'

/** What is there sooner needs no word. */
const PATIENCE_MS = 300
/** A first plan is laid out twice. */
const LAYINGS = 2

/** The same planner, with a word to the screens of the cellar while a plan takes long. */
export function plannerTold(planner: Planner, changes: Pick<Changes, 'planning'>): Planner {
  return {
    ...planner,
    plan: async (cellarId, order, asked = {}) => {
      let isTold = false
      const share = sharesOf(LAYINGS)
      const timer = setTimeout(() => {
        isTold = true
        changes.planning({ cellarId, isOver: false })
      }, PATIENCE_MS)
      const onProgress = (progress: Progress) => {
        asked.onProgress?.(progress)
        const now = share(progress)
        if (isTold && now !== undefined) changes.planning({ cellarId, share: now, isOver: false })
      }
      try {
        return await planner.plan(cellarId, order, { ...asked, onProgress })
      } finally {
        clearTimeout(timer)
        if (isTold) changes.planning({ cellarId, isOver: true })
      }
    },
  }
}

/** How far it is in all, from how far each laying-out is; never back. */
export function sharesOf(layings: number): (progress: Progress) => number | undefined {
  let laid = 0
  let last = 0
  return ({ placed, tasks }) => {
    if (placed === undefined || !tasks) return undefined
    if (placed < last) laid++
    last = placed
    return Math.min(0.99, (laid + placed / tasks) / layings)
  }
}
