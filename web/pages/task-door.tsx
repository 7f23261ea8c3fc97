import { Navigate, useParams } from '@solidjs/router'

/** Where the link of a calendar entry leads: the task, open on the page of its lot; house work on the day's list. */
export function TaskDoor() {
  const params = useParams<{ lot: string; step: string; count: string }>()
  const page = () => (params.lot === 'house' ? '/today' : `/lots/${encodeURIComponent(params.lot)}`)
  const key = () => encodeURIComponent(`${params.lot}/${params.step}/${params.count}`)
  return <Navigate href={`${page()}?open=${key()}`} />
}
