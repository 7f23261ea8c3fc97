/** A move on the desk: taken up by hand or key, judged as it goes, asked of the server at rest, kept or left. */
import { createEffect, createSignal, on, onCleanup } from 'solid-js'
import type { Preview, SeasonActs } from './acts.ts'
import type { Announcing } from './announce.tsx'
import { berthOf, vesselsFor } from './berth.ts'
import { keepChosen, wishOf } from './keeping.ts'
import { type Model, msOfWire } from './model.ts'
import { beginMove, isMoved, keyedTo, type Move, type MoveKey, moveTo, stepMin, withFollowers } from './move.ts'
import type { RowsBy } from './rows.ts'
import { type MoveRules, nameOf } from './rules.ts'
import { DAY_MS } from './scale.ts'
import { revealed, type View } from './view.ts'

/** Long enough that a held key asks once. */
const REST_MS = 350

export function createDeskMove(desk: {
  readonly rules: () => MoveRules
  readonly acts: () => SeasonActs
  readonly announcer: Announcing
  readonly mayMove: () => boolean
  readonly view: () => View
  readonly setView: (view: View) => void
  readonly rowsBy: () => RowsBy
}) {
  const { announcer } = desk
  const model = (): Model => desk.rules().model
  const words = () => desk.rules().words
  const [move, setMove] = createSignal<Move>()
  const [held, setHeld] = createSignal(false)
  const [preview, setPreview] = createSignal<Preview>()

  const say = (at: Move) => {
    const sentence = `${nameOf(model(), at.ix)}, ${words().momentLong(at.startMs)}. ${at.verdict.words}`
    if (at.verdict.level === 'no') announcer.refuse(sentence)
    else announcer.say(sentence)
  }
  const start = (ix: number) => {
    if (!desk.mayMove() || model().state[ix] === 3) {
      announcer.refuse(desk.mayMove() ? 'What is done does not move.' : 'Only a winemaker may move work.')
      return
    }
    setHeld(true)
    const at = beginMove(desk.rules(), ix)
    setMove(at)
    announcer.say(
      `Moving ${nameOf(model(), ix)}. Arrows step, Shift with arrows a day, up and down another ${desk.rowsBy() === 'vessel' ? 'vessel' : 'person'}, F alone or with what follows, Enter keeps, Escape leaves it. ${at.verdict.words}`,
    )
  }
  const end = (sentence?: string) => {
    setMove(undefined)
    setHeld(false)
    setPreview(undefined)
    if (sentence) announcer.say(sentence)
  }
  const keep = async () => {
    const at = move()
    if (!at) return
    if (!isMoved(at, model())) return end('Nothing was moved.')
    const name = nameOf(model(), at.ix)
    announcer.say(`Moving ${name}.`)
    const done = await keepChosen(desk.acts(), model(), at)
    const where = at.vessel ? `, into ${at.vessel}` : ''
    if (done) end(`${name} moved to ${words().momentLong(at.startMs)}${where}. Control Z takes it back.`)
    else announcer.refuse(`${name} was not moved.`)
  }
  // The server looks at the whole plan; it is asked once the hand rests. Another vessel it judges when it is kept.
  let asking: ReturnType<typeof setTimeout> | undefined
  createEffect(
    on([move, held], ([at, isHeld]) => {
      clearTimeout(asking)
      setPreview(undefined)
      if (!at || !isHeld || at.vessel !== undefined || !isMoved(at, model())) return
      asking = setTimeout(() => {
        const key = model().plan.tasks[at.ix]?.key ?? ''
        desk
          .acts()
          .preview(key, wishOf(at))
          .then(
            (answer) => move() === at && setPreview(answer),
            () => undefined,
          )
      }, REST_MS)
    }),
  )
  onCleanup(() => clearTimeout(asking))

  const foreseen = () =>
    preview()
      ?.changed.map((t) => ({ ix: model().ixOf.get(t.key) ?? -1, startMs: msOfWire(t.startAt) }))
      .filter((t) => t.ix >= 0 && t.ix !== move()?.ix)

  const turnTo = (at: Move, key: MoveKey) => {
    const days = (desk.view().toMs - desk.view().fromMs) / DAY_MS
    const next = moveTo(desk.rules(), at, keyedTo(desk.rules().days, at, key, stepMin(days)), at.person, at.vessel)
    setMove(next)
    desk.setView(revealed(desk.view(), next.startMs))
    say(next)
  }
  const turnVessel = (at: Move, by: 1 | -1) => {
    const berth = berthOf(model(), at.ix)
    if (!berth) return announcer.refuse('This work goes into no vessel.')
    const codes = vesselsFor(model(), berth)
    const home = berth.phase.vessels[0] ?? ''
    const code = codes[(codes.indexOf(at.vessel ?? home) + by + codes.length) % codes.length]
    if (code === undefined) return
    const next = moveTo(desk.rules(), at, at.startMs, at.person, code === home ? undefined : code)
    setMove(next)
    const sentence = `${code}. ${next.verdict.words}`
    if (next.verdict.level === 'no') announcer.refuse(sentence)
    else announcer.say(sentence)
  }
  const turnPerson = (at: Move, by: 1 | -1) => {
    const { people } = model().plan
    const now = people.findIndex((p) => p.id === (at.person ?? model().plan.tasks[at.ix]?.people[0]))
    const person = people[(now + by + people.length) % people.length]
    if (!person) return
    const next = moveTo(desk.rules(), at, at.startMs, person.id, at.vessel)
    setMove(next)
    announcer.say(`${person.name}. ${next.verdict.words}`)
  }
  const follow = (at: Move, andFollows: boolean) => {
    const next = withFollowers(desk.rules(), at, andFollows)
    setMove(next)
    announcer.say(`${andFollows ? 'And what follows' : 'Only this'}. ${next.verdict.words}`)
  }

  const onKey = (event: KeyboardEvent): boolean => {
    const at = move()
    if (!at) return false
    const turn = desk.rowsBy() === 'vessel' ? turnVessel : turnPerson
    const acts: Readonly<Record<string, () => void>> = {
      ArrowLeft: () => turnTo(at, event.shiftKey ? 'day-back' : 'step-back'),
      ArrowRight: () => turnTo(at, event.shiftKey ? 'day-on' : 'step-on'),
      ArrowUp: () => turn(at, -1),
      ArrowDown: () => turn(at, 1),
      Home: () => turnTo(at, 'earliest'),
      End: () => turnTo(at, 'latest'),
      f: () => follow(at, !at.andFollows),
      Enter: () => void keep(),
      Escape: () => end('The task stays where it was.'),
    }
    const act = acts[event.key]
    act?.()
    return act !== undefined
  }

  return {
    move,
    held,
    preview,
    foreseen,
    start,
    end,
    keep,
    follow,
    onKey,
    /** A hand carries it. */
    carry: (next: Move | undefined) => {
      setHeld(false)
      setMove(next)
      if (next) say(next)
    },
    drop: (at: Move) => {
      setMove({ ...at })
      setHeld(true)
    },
    toNearest: (ms: number) => {
      const at = move()
      if (!at) return
      setHeld(true)
      setMove(moveTo(desk.rules(), at, ms, at.person, at.vessel))
    },
    /** A new plan numbers its tasks anew. */
    renumber: (again: (ix: number) => number | undefined) => {
      const going = move()
      if (!going) return
      const ix = again(going.ix)
      setMove(ix === undefined ? undefined : { ...going, ix })
    },
  }
}
