import { useQueryClient } from '@tanstack/solid-query'
import { createSignal } from 'solid-js'
import type { Problem } from '../api.ts'
import { toast } from '../parts/toast.tsx'
import { problemWords } from '../words/problems.ts'
import type { Sent } from './send.ts'

/** One thing told at a time; that it is noted is said in words. What waits on the phone shows by itself, and lists are asked for again once it was sent. */
export function createTelling() {
  const client = useQueryClient()
  const [busy, setBusy] = createSignal(false)
  const [refused, setRefused] = createSignal<Problem>()
  /**
   * @param words said in passing; empty where the screen itself shows it
   * @returns the operation, once this phone or the server holds it
   */
  const tell = async (send: () => Promise<Sent>, words: string): Promise<string | undefined> => {
    setBusy(true)
    setRefused(undefined)
    try {
      const sent = await send()
      if (sent.state === 'refused') {
        setRefused(sent.problem)
        return undefined
      }
      if (words) toast(words)
      if (sent.by === 'server') void client.invalidateQueries()
      return sent.opId
    } finally {
      setBusy(false)
    }
  }
  const refusedWords = () => {
    const problem = refused()
    if (!problem) return ''
    const where = problem.errors?.map((entry) => entry.detail).join(' ')
    return [problemWords(problem), problem.detail, where].filter(Boolean).join(' ')
  }
  return { busy, tell, refused, refusedWords, forget: () => setRefused(undefined) }
}
