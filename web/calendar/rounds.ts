/** The same work at the same time on several lots is one round: said once, with the lots. */
import type { Model } from '../timeline/model.ts'

export interface Round {
  readonly members: readonly number[]
}

export function roundsOf(model: Model, tasks: readonly number[]): readonly Round[] {
  const rounds: { key: string; members: number[] }[] = []
  for (const ix of tasks) {
    const task = model.plan.tasks[ix]
    const at = task?.grain === 'day' ? 'day' : model.startMs[ix]
    const key = `${at} ${task?.step} ${model.state[ix]} ${model.flags[ix]}`
    const known = rounds.find((r) => r.key === key)
    if (known) known.members.push(ix)
    else rounds.push({ key, members: [ix] })
  }
  return rounds
}
