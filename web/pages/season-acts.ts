/** What the season's desk may do to the plan: try a move, keep it, take it back; and changes by way of a trial. */
import { type QueryClient, useQueryClient } from '@tanstack/solid-query'
import { get, post, remove, taskPath } from '../api.ts'
import { toast, toastError } from '../parts/toast.tsx'
import { type PlanWire, useTaskWrite } from '../queries.ts'
import type { MoveWish, Preview, SeasonActs } from '../timeline/acts.ts'
import type { TrialPlanWire, TrialWire } from '../trial-queries.ts'

export function createActs(plan: () => PlanWire): SeasonActs {
  const write = useTaskWrite()
  const client = useQueryClient()
  const tasks = () => plan().tasks
  const undo = async (key: string): Promise<boolean> => {
    try {
      await write.mutateAsync({ key, act: 'undo' })
      toast(`Taken back: ${tasks().find((t) => t.key === key)?.name ?? key}`)
      return true
    } catch (error) {
      toastError(error)
      return false
    }
  }
  return {
    preview: (key: string, wish: MoveWish) => post<Preview>(taskPath(key, 'preview'), wish),
    keep: async (key, wish) => {
      try {
        const answer = await write.mutateAsync({
          key,
          act: 'pin',
          body: {
            startAt: wish.startAt,
            ...(wish.people && { people: wish.people }),
            ...(!wish.andFollows && { andFollows: false }),
          },
        })
        const others = answer.changed.filter((t) => t.key !== key).length
        toast(
          `Moved: ${answer.task.name}, ${answer.task.lotCode}.${others > 0 ? ` ${others} other ${others === 1 ? 'task' : 'tasks'} changed.` : ''}`,
          () => void undo(key),
        )
        return true
      } catch (error) {
        toastError(error)
        return false
      }
    },
    undo,
    ...trialActs(client, () => plan().broken.length),
  }
}

/** What a pin cannot say goes the way of a trial: tried, shown, adopted, and taken back as one. */
function trialActs(client: QueryClient, brokenNow: () => number): Pick<SeasonActs, 'attempt' | 'adopt' | 'drop'> {
  const at = (id: string, act = '') => `/api/trials/${encodeURIComponent(id)}${act && `/${act}`}`
  return {
    attempt: async (change, name) => {
      try {
        const { trial } = await post<{ trial: TrialWire }>('/api/trials', { name, changes: [change] })
        const plan = await get<TrialPlanWire>(at(trial.id, 'plan'))
        const others = plan.changed.length
        const broken = plan.broken.length - brokenNow()
        const words = [
          ...trial.words,
          others === 0 ? 'No task moves.' : `${others} ${others === 1 ? 'task changes' : 'tasks change'}.`,
          broken > 0 ? `${broken} more ${broken === 1 ? 'rule' : 'rules'} would be broken.` : 'No further rule breaks.',
        ]
        return { id: trial.id, version: trial.version, words: words.join(' '), changed: plan.changed }
      } catch (error) {
        toastError(error)
        return undefined
      }
    },
    adopt: async (tried, said) => {
      try {
        const { trial } = await post<{ trial: TrialWire }>(at(tried.id, 'adopt'), { version: tried.version })
        await client.invalidateQueries()
        toast(said, () => {
          post(at(trial.id, 'undo'), { version: trial.version }).then(() => client.invalidateQueries(), toastError)
        })
        return true
      } catch (error) {
        toastError(error)
        return false
      }
    },
    drop: async (tried) => {
      await remove(at(tried.id)).catch(() => undefined)
    },
  }
}
