import type { Booking } from './bookings.ts'
import type { Desk, HoldRoom, Slot } from './desk.ts'
import type { Model } from './model.ts'
import { factOf } from './network.ts'
import { keptOf } from './shares.ts'
import { swapsOf } from './swaps.ts'
import { AMOUNT_SLOP, clashes, isDown, roomFor, serviceFrom, type Wish } from './unitroom.ts'

/** A hold as far as it is known: its units and the span booked for it. */
export interface Berth {
  readonly units: readonly number[]
  readonly fromMin: number
  readonly toMin: number
}

export interface Berths {
  readonly room: HoldRoom
  /** After task i was placed: books the holds that begin with it, stretches those that end with it. */
  readonly settle: (i: number) => readonly Booking[]
  /** After task i was taken out again. */
  readonly release: (i: number) => void
  readonly of: (h: number) => Berth | undefined
}

/** What the holds need to know of the tasks around them. */
export interface Around {
  readonly slotOf: (i: number) => Slot | undefined
  /** Where a start that is not settled yet is expected. */
  readonly expected: (i: number) => number
  readonly lengthOf: (i: number) => number
}

/** Which unit each hold has. An end that is not settled yet is booked to where it is expected. */
export function berthsOf(model: Model, desk: () => Desk, around: Around): Berths {
  const berths: (Berth | undefined)[] = model.holds.map(() => undefined)
  const edge = (slot: Slot, end: boolean) => (end ? slot.endMin : slot.startMin)
  const likely = (i: number, end: boolean) => around.expected(i) + (end ? around.lengthOf(i) : 0)

  const toOf = (h: number, fromMin: number): number => {
    const hold = model.holds[h]!
    const slot = around.slotOf(hold.to)
    if (slot) return edge(slot, hold.toEnd)
    const usual = likely(hold.to, hold.toEnd) - likely(hold.from, hold.fromEnd)
    return Math.max(likely(hold.to, hold.toEnd), fromMin + Math.max(0, usual))
  }

  const wishOf = (
    h: number,
    fromMin: number,
    toMin: number,
    u: number,
    amount: number = model.units[u]!.unit.capacity,
  ): Wish => ({
    fromMin,
    toMin,
    group: model.holds[h]!.hold.group,
    amount,
    cleanMin: model.holds[h]!.hold.cleanMin,
    kind: 'hold',
  })

  const optionsOf = (h: number): readonly number[] => {
    const hold = model.holds[h]!
    if (hold.fixed) return hold.fixed
    const known =
      berths[h]?.units ?? model.previous.get(hold.hold.key)?.units.flatMap((id) => model.unitOf.get(id) ?? [])
    if (!known || known.length === 0) return hold.candidates
    return [...hold.candidates].sort((a, b) => Number(known.includes(b)) - Number(known.includes(a)))
  }

  /** Free candidates for the span; or the start at which enough of them may be free. */
  const choose = (h: number, fromMin: number, toMin: number, back: boolean): readonly number[] | number => {
    const hold = model.holds[h]!
    if (hold.hold.amount !== undefined) return chooseShares(h, hold.hold.amount, fromMin, toMin, back)
    const count = hold.fixed?.length ?? hold.hold.count
    const free: number[] = []
    const retries: number[] = []
    for (const u of optionsOf(h)) {
      const no = roomFor(model.units[u]!, desk().units[u]!, wishOf(h, fromMin, toMin, u), back)
      if (no) retries.push(no.retryMin)
      else free.push(u)
      if (free.length >= count) return free
    }
    if (free.length === count - 1) {
      const u = moves.makeRoom(h, fromMin, toMin, optionsOf(h), free)
      if (u !== undefined) return [...free, u]
    }
    retries.sort((a, b) => (back ? b - a : a - b))
    return retries[count - free.length - 1] ?? (back ? -Infinity : Infinity)
  }

  /** Room for an amount: in one unit where one is large enough, else unit by unit. */
  const chooseShares = (
    h: number,
    wanted: number,
    fromMin: number,
    toMin: number,
    back: boolean,
  ): readonly number[] | number => {
    const options = optionsOf(h)
    const isOne = wanted <= largestOf(options) + AMOUNT_SLOP
    const got: number[] = []
    const never = back ? -Infinity : Infinity
    let left = wanted
    let retry = never
    for (const u of options) {
      const share = isOne ? left : Math.min(left, model.units[u]!.unit.capacity)
      const no = roomFor(model.units[u]!, desk().units[u]!, wishOf(h, fromMin, toMin, u, share), back)
      if (no) {
        retry = back ? Math.max(retry, no.retryMin) : Math.min(retry, no.retryMin)
        continue
      }
      got.push(u)
      left -= share
      if (left <= AMOUNT_SLOP) return got
    }
    return retry
  }

  const largestOf = (options: readonly number[]) => Math.max(0, ...options.map((u) => model.units[u]!.unit.capacity))

  const book = (h: number, berth: Berth) => {
    berths[h] = berth
    for (const [u, amount] of keptOf(model, h, berth.units))
      desk().units[u]!.add({
        ...wishOf(h, berth.fromMin, berth.toMin, u, amount),
        owner: h,
        key: model.holds[h]!.hold.key,
      })
  }

  const unbook = (h: number) => {
    for (const u of berths[h]?.units ?? []) desk().units[u]!.remove('hold', h, berths[h]!.fromMin)
  }

  const moves = swapsOf({
    model,
    desk,
    berths,
    wishOf,
    begun: (h) => factOf(model, model.holds[h]!.from) !== undefined,
  })

  /** When a vessel for the hold is in service again, where none is for this span. */
  const inService = (h: number, fromMin: number, toMin: number, back: boolean): number | undefined => {
    const { hold, fixed, candidates } = model.holds[h]!
    if (fixed || hold.count > 1 || hold.amount !== undefined) return undefined
    const starts = candidates.map((u) => serviceFrom(model.units[u]!, fromMin, toMin, back))
    return starts.includes(undefined) ? undefined : starts.reduce((a, b) => ((back ? b! > a! : b! < a!) ? b : a))
  }

  const room: Berths['room'] = (i, slot, back, evenBooked) => {
    let retry: number | undefined
    for (const h of model.holdsFrom[i]!) {
      const hold = model.holds[h]!
      // What has begun keeps its vessel; a pinned vessel that is taken is waited for like any other.
      if (hold.fixed ? hold.fixed.length === 0 : hold.candidates.length < hold.hold.count) continue
      const from = edge(slot, hold.fromEnd)
      const found = evenBooked ? inService(h, from, toOf(h, from), back) : choose(h, from, toOf(h, from), back)
      moves.takeBack()
      if (typeof found !== 'number') continue
      const start = found - (from - slot.startMin)
      retry = retry === undefined ? start : back ? Math.min(retry, start) : Math.max(retry, start)
    }
    return retry
  }

  const settle: Berths['settle'] = (i) => {
    const inTheWay: Booking[] = []
    const touched = [...model.holdsFrom[i]!, ...model.holdsTo[i]!.filter((h) => model.holds[h]!.from !== i)]
    for (const h of touched) {
      const slot = around.slotOf(model.holds[h]!.from)
      if (!slot) continue
      const fromMin = edge(slot, model.holds[h]!.fromEnd)
      const toMin = toOf(h, fromMin)
      unbook(h)
      const found = choose(h, fromMin, toMin, false)
      moves.keep()
      const units =
        typeof found === 'number' ? (model.holds[h]!.fixed ?? berths[h]?.units ?? leastTaken(h, fromMin, toMin)) : found
      for (const [u, amount] of keptOf(model, h, units)) {
        const unit = model.units[u]!
        if (!unit.single) {
          const no = roomFor(unit, desk().units[u]!, wishOf(h, fromMin, toMin, u, amount), false)
          if (no?.by) inTheWay.push(no.by)
          continue
        }
        desk().units[u]!.touching(fromMin - 7 * 1440, toMin + 7 * 1440, (b) => {
          if (clashes(unit, b, wishOf(h, fromMin, toMin, u))) inTheWay.push(b)
          return false
        })
      }
      book(h, { units, fromMin, toMin })
    }
    return inTheWay
  }

  const leastTaken = (h: number, fromMin: number, toMin: number): readonly number[] => {
    const free: number[] = []
    const taken: number[] = []
    const down: number[] = []
    for (const u of model.holds[h]!.candidates) {
      const { amount } = model.holds[h]!.hold
      const share = amount === undefined ? undefined : Math.min(amount, model.units[u]!.unit.capacity)
      const no = roomFor(model.units[u]!, desk().units[u]!, wishOf(h, fromMin, toMin, u, share), false)
      ;(no ? (isDown(model.units[u]!, fromMin, toMin) ? down : taken) : free).push(u)
    }
    const { count, amount } = model.holds[h]!.hold
    const all = [...free, ...taken, ...down]
    if (amount === undefined) return all.slice(0, count)
    const sizeOf = (u: number) => model.units[u]!.unit.capacity
    if (amount <= largestOf(all) + AMOUNT_SLOP) return all.filter((u) => sizeOf(u) + AMOUNT_SLOP >= amount).slice(0, 1)
    let left = amount
    return all.filter((u) => {
      const isWanted = left > AMOUNT_SLOP
      left -= sizeOf(u)
      return isWanted
    })
  }

  const release: Berths['release'] = (i) => {
    for (const h of model.holdsFrom[i]!) {
      unbook(h)
      berths[h] = undefined
    }
  }
  return { room, settle, release, of: (h) => berths[h] }
}
