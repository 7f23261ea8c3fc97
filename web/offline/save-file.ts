import { handOver } from './index.ts'

/** So that nothing hangs on one phone: read in on another, it is sent by whoever told it. */
export async function saveFile(): Promise<void> {
  const link = document.createElement('a')
  link.href = URL.createObjectURL(new Blob([await handOver()], { type: 'application/json' }))
  link.download = 'records-of-this-phone.json'
  link.click()
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000)
}
