import type { TaskWire } from '../../api/wire.ts'
import { type Problem, problemOf } from '../api.ts'
import { type TaskAct, useTaskWrite } from '../queries.ts'
import { toast, toastError } from './toast.tsx'

const DID: Readonly<Partial<Record<TaskAct, string>>> = {
  start: 'Started',
  done: 'Done',
  skip: 'Not done, with a reason',
  note: 'Noted',
  pin: 'Pinned',
  unpin: 'Unpinned',
  assign: 'Assigned',
  acknowledge: 'Looked at',
}

/** Writes an act, says what happened, and offers to take it back. */
export function createTaskActs() {
  const write = useTaskWrite()
  /** @param refused may take a refusal into its own hands: true when it has */
  const act = async (
    task: TaskWire,
    kind: TaskAct,
    body?: Readonly<Record<string, unknown>>,
    refused: (problem: Problem) => boolean = () => false,
  ): Promise<boolean> => {
    try {
      const answer = await write.mutateAsync({ key: task.key, act: kind, body })
      if (kind === 'undo') {
        toast(`Taken back: ${task.name}`)
        return true
      }
      const others = answer.changed.filter((entry) => entry.key !== task.key).length
      const moved = others === 0 ? '' : ` ${others} other ${others === 1 ? 'task' : 'tasks'} changed.`
      const words = `${DID[kind] ?? kind}: ${task.name}, ${task.lotCode}.${moved}`
      // A look is no fact about the work: there is nothing to take back.
      toast(words, kind === 'acknowledge' ? undefined : () => void act(task, 'undo'))
      return true
    } catch (error) {
      if (!refused(problemOf(error))) toastError(error)
      return false
    }
  }
  return { act, write }
}
