import { createSignal, For, Show } from 'solid-js'
import type { MachineWire } from '../../api/wire.ts'
import { put } from '../api.ts'
import { Button } from '../parts/button.tsx'
import { Dialog } from '../parts/dialog.tsx'
import { NumberField, TextField } from '../parts/field.tsx'
import { Folio } from '../parts/page-head.tsx'
import { Ask, Empty, Failed, wrongAt } from '../parts/states.tsx'
import { toast } from '../parts/toast.tsx'
import { useMachines, useWrite } from '../queries.ts'
import { useSession } from '../session.tsx'
import { CAPACITY } from './machine-words.ts'
import { NewMachine } from './new-machine.tsx'
import { SiteField } from './site-fields.tsx'

/** Presses, pumps, filters and the rest, with their figures and the hours they are not to be had. */
export function Machines() {
  const session = useSession()
  const machines = useMachines()
  const [open, setOpen] = createSignal<MachineWire>()
  const [isNew, setIsNew] = createSignal(false)
  return (
    <Folio title="Machines" note="A new cellar begins with a usual set: set each to what stands there.">
      <Ask query={machines} what="the machines">
        {(answer) => (
          <Show
            when={answer().machines.length > 0}
            fallback={
              <Empty title="No machine yet">
                <p>Without a press no fruit can be planned.</p>
              </Empty>
            }
          >
            <table class="ledger folds">
              <tbody>
                <For each={answer().machines}>
                  {(machine) => (
                    <tr>
                      <th scope="row">
                        {machine.code} {machine.name}
                        <Show when={machine.site}>{(site) => <div class="small">at {site()}</div>}</Show>
                      </th>
                      <td>
                        <Show when={CAPACITY[machine.kind]}>
                          {(means) => (
                            <>
                              {means().label}{' '}
                              {session.format().number(machine.capacity, Number.isInteger(machine.capacity) ? 0 : 2)}{' '}
                              {means().unit}
                            </>
                          )}
                        </Show>
                      </td>
                      <td>
                        <For each={machine.bookings}>
                          {(b) => (
                            <div class="small">
                              {b.why}: {session.format().moment(b.fromAt)} to {session.format().moment(b.toAt)}
                            </div>
                          )}
                        </For>
                      </td>
                      <td>
                        <Show when={session.leads()}>
                          <Button kind="plain" onClick={() => setOpen(machine)}>
                            Change
                          </Button>
                        </Show>
                      </td>
                    </tr>
                  )}
                </For>
              </tbody>
            </table>
          </Show>
        )}
      </Ask>
      <Show when={session.leads()}>
        <div>
          <Button kind="plain" onClick={() => setIsNew(true)}>
            Add a machine
          </Button>
        </div>
      </Show>
      <Show when={isNew()}>
        <NewMachine onClose={() => setIsNew(false)} />
      </Show>
      <Show when={open()} keyed>
        {(machine) => <MachineDialog machine={machine} onClose={() => setOpen(undefined)} />}
      </Show>
    </Folio>
  )
}

function MachineDialog(props: { readonly machine: MachineWire; readonly onClose: () => void }) {
  const session = useSession()
  const means = CAPACITY[props.machine.kind]
  const [name, setName] = createSignal(props.machine.name)
  const [capacity, setCapacity] = createSignal<number | undefined>(props.machine.capacity)
  const [site, setSite] = createSignal(props.machine.site ?? '')
  const [outH, setOutH] = createSignal<number | undefined>()
  const [bookings, setBookings] = createSignal(props.machine.bookings)
  const now = Date.parse(session.cellar().nowAt)
  const ahead = () => bookings().filter((b) => Date.parse(b.toAt) > now)
  /** What it is away for ends now, or never begins. */
  const back = (one: MachineWire['bookings'][number]) =>
    setBookings((all) =>
      all.flatMap((b) => {
        if (b !== one) return [b]
        return Date.parse(b.fromAt) < now ? [{ ...b, toAt: new Date(now).toISOString() }] : []
      }),
    )
  const save = useWrite(() => {
    const { id, version, site: _, ...rest } = props.machine
    const hours = outH()
    const out = hours
      ? [
          {
            fromAt: new Date(now).toISOString(),
            toAt: new Date(now + hours * 3_600_000).toISOString(),
            why: 'out of service',
          },
        ]
      : []
    return put(`/api/machines/${encodeURIComponent(id)}`, {
      ...rest,
      name: name().trim(),
      capacity: capacity() ?? rest.capacity,
      ...(site() ? { site: site() } : {}),
      bookings: [...bookings(), ...out],
      version,
    })
  })
  const send = async () => {
    try {
      await save.mutateAsync(undefined)
      toast(`${props.machine.code} is changed; the plan goes by it.`)
      props.onClose()
    } catch {
      // shown below
    }
  }
  return (
    <Dialog open onClose={props.onClose} title={`${props.machine.code} ${props.machine.name}`}>
      <form
        class="stack"
        onSubmit={(event) => {
          event.preventDefault()
          void send()
        }}
      >
        <TextField label="Name" value={name()} maxLength={80} required onInput={setName} />
        <Show when={means}>
          <NumberField
            label={means!.label}
            unit={means!.unit}
            value={capacity()}
            min={0.1}
            max={1_000_000}
            onInput={setCapacity}
          />
        </Show>
        <SiteField value={site()} onInput={setSite} wrong={wrongAt(save.error, '#/site')} />
        <Show when={ahead().length > 0}>
          <ul class="stack tight" aria-label="Not to be had">
            <For each={ahead()}>
              {(b) => (
                <li class="row">
                  <span class="small">
                    {b.why}: {session.format().moment(b.fromAt)} to {session.format().moment(b.toAt)}
                  </span>
                  <Button kind="plain" onClick={() => back(b)}>
                    {Date.parse(b.fromAt) < now ? 'It is back now' : 'It does not go away'}
                  </Button>
                </li>
              )}
            </For>
          </ul>
        </Show>
        <NumberField
          label="Out of service from now for"
          unit="h"
          hint="Empty: it works. What was planned on it moves elsewhere or later."
          value={outH()}
          min={1}
          max={2000}
          onInput={setOutH}
        />
        <Show when={save.isError}>
          <Failed error={save.error} />
        </Show>
        <div>
          <Button kind="main" type="submit" pending={save.isPending} disabled={name().trim() === ''}>
            Save
          </Button>
        </div>
      </form>
    </Dialog>
  )
}
