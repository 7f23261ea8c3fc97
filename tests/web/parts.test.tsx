import { cleanup, fireEvent, render, screen } from '@solidjs/testing-library'
import { createSignal } from 'solid-js'
import { afterEach, describe, expect, it, vi } from 'vitest'
import type { TaskWire } from '../../api/wire.ts'
import { Button } from '../../web/parts/button.tsx'
import { NumberField, numberOf, Options, outOfRange, TextField } from '../../web/parts/field.tsx'
import { PegMark, pegState } from '../../web/parts/peg-mark.tsx'
import { PlanningLine } from '../../web/parts/planning-line.tsx'
import { Failed } from '../../web/parts/states.tsx'
import { Stepper } from '../../web/parts/stepper.tsx'
import { VesselTags } from '../../web/parts/tag.tsx'
import { Toasts, toast } from '../../web/parts/toast.tsx'

afterEach(() => {
  cleanup()
  vi.useRealTimers()
})

describe('a field', () => {
  it('ties its label, its hint and what is wrong to the control', () => {
    render(() => <TextField label="Code" hint="As painted" wrong="is taken" value="T01" onInput={() => {}} />)
    const input = screen.getByLabelText('Code')
    const described = (input.getAttribute('aria-describedby') ?? '')
      .split(' ')
      .map((id) => document.getElementById(id)?.textContent)
    expect(described).toEqual(['As painted', 'is taken'])
    expect(input.getAttribute('aria-invalid')).toBe('true')
  })

  it('says a number out of range in words, before anything is sent', () => {
    const [value, setValue] = createSignal<number | undefined>(9)
    render(() => <NumberField label="pH" min={2.5} max={4.5} value={value()} onInput={setValue} />)
    expect(screen.getByText('must be at most 4.5')).toBeTruthy()
    fireEvent.input(screen.getByLabelText('pH'), { target: { value: '3.2' } })
    expect(value()).toBe(3.2)
    expect(screen.queryByText('must be at most 4.5')).toBeNull()
  })

  it('reads a decimal comma, and nothing as nothing', () => {
    expect(numberOf('3,25')).toBe(3.25)
    expect(numberOf(' ')).toBeUndefined()
    expect(numberOf('abc')).toBeUndefined()
    expect(outOfRange(undefined, 1, 2)).toBeUndefined()
    expect(outOfRange(0, 1, 2, 't')).toBe('must be at least 1 t')
  })

  it('offers few answers as radio buttons of one group', () => {
    const [value, setValue] = createSignal<'a' | 'b'>('a')
    render(() => (
      <Options
        label="Which"
        value={value()}
        options={[
          { value: 'a', label: 'First' },
          { value: 'b', label: 'Second' },
        ]}
        onInput={setValue}
      />
    ))
    expect(screen.getByRole('group', { name: 'Which' })).toBeTruthy()
    fireEvent.click(screen.getByRole('radio', { name: 'Second' }))
    expect(value()).toBe('b')
  })
})

describe('a stepper', () => {
  it('starts from the last value, then steps, and keeps to its limits', () => {
    const [value, setValue] = createSignal<number | undefined>()
    render(() => (
      <Stepper
        label="Density"
        unit="kg/m³"
        step={1}
        min={980}
        max={1043}
        from={1042}
        last="1042, yesterday"
        value={value()}
        onInput={setValue}
      />
    ))
    const more = screen.getByRole('button', { name: 'Density: 1 kg/m³ more' })
    fireEvent.click(more)
    expect(value()).toBe(1042)
    fireEvent.click(more)
    fireEvent.click(more)
    expect(value()).toBe(1043)
    fireEvent.click(screen.getByRole('button', { name: 'Density: 1 kg/m³ less' }))
    expect(value()).toBe(1042)
    expect(screen.getByText('Last: 1042, yesterday')).toBeTruthy()
  })

  it('adds tenths without a tail of digits', () => {
    const [value, setValue] = createSignal<number | undefined>(12.1)
    render(() => <Stepper label="Sugar" unit="°Bx" step={0.1} value={value()} onInput={setValue} />)
    fireEvent.click(screen.getByRole('button', { name: 'Sugar: 0.1 °Bx more' }))
    fireEvent.click(screen.getByRole('button', { name: 'Sugar: 0.1 °Bx more' }))
    expect(value()).toBe(12.3)
  })
})

describe('a button', () => {
  it('never submits by accident and cannot be pressed twice while it waits', () => {
    const pressed = vi.fn()
    render(() => (
      <Button pending onClick={pressed}>
        Done
      </Button>
    ))
    const button = screen.getByRole('button', { name: 'Done' })
    expect(button.getAttribute('type')).toBe('button')
    expect(button.getAttribute('aria-busy')).toBe('true')
    fireEvent.click(button)
    expect(pressed).not.toHaveBeenCalled()
  })
})

describe('a toast', () => {
  it('offers to take back for a minute, then goes', () => {
    vi.useFakeTimers()
    const undo = vi.fn()
    render(() => <Toasts />)
    toast('Done: Press, L06.', undo)
    expect(screen.getByText('Done: Press, L06.')).toBeTruthy()
    vi.advanceTimersByTime(59_000)
    fireEvent.click(screen.getByRole('button', { name: 'Undo' }))
    expect(undo).toHaveBeenCalledOnce()
    expect(screen.queryByText('Done: Press, L06.')).toBeNull()
  })

  it('hears Ctrl+Z, but not where somebody types', () => {
    const undo = vi.fn()
    render(() => (
      <>
        <input aria-label="Note" />
        <Toasts />
      </>
    ))
    toast('Done: Rack, L05.', undo)
    fireEvent.keyDown(screen.getByLabelText('Note'), { key: 'z', ctrlKey: true })
    expect(undo).not.toHaveBeenCalled()
    fireEvent.keyDown(document.body, { key: 'z', ctrlKey: true })
    expect(undo).toHaveBeenCalledOnce()
  })
})

describe('marks and tags', () => {
  const plain = { state: 'planned', late: false, broken: [] } as const

  it('tell the state by fill: a broken hard rule before late, done before both', () => {
    const hard: TaskWire['broken'][number] = { rule: 'r', strength: 'hard', taskKeys: [], words: '' }
    expect(pegState({ ...plain, broken: [] })).toBe('planned')
    expect(pegState({ ...plain, late: true, broken: [] })).toBe('late')
    expect(pegState({ ...plain, late: true, broken: [hard] })).toBe('conflict')
    expect(pegState({ state: 'done', late: true, broken: [hard] })).toBe('done')
    expect(pegState({ ...plain, broken: [{ ...hard, strength: 'soft' }] })).toBe('planned')
  })

  it('are silent beside words, and named where they stand alone', () => {
    render(() => (
      <>
        <PegMark family="juice" />
        <PegMark family="move" name="Move" />
      </>
    ))
    expect(screen.getAllByRole('img').map((mark) => mark.getAttribute('aria-label'))).toEqual(['Move'])
  })

  it('count vessels past the first few', () => {
    render(() => <VesselTags codes={['A1', 'A2', 'A3', 'A4', 'A5', 'A6']} most={4} />)
    expect(screen.getByText('+3').getAttribute('title')).toBe('A1, A2, A3, A4, A5, A6')
  })
})

describe('a refusal', () => {
  it('is shown in the server’s words, each field named', () => {
    const error = Object.assign(new Error('no'), {
      problem: {
        type: 'not-valid',
        title: 'Something does not fit',
        status: 422,
        errors: [{ pointer: '#/fruit/brix', detail: 'must be at most 50' }],
      },
    })
    render(() => <Failed error={error} />)
    expect(screen.getByRole('alert').textContent).toBe('Something does not fitfruit brix must be at most 50')
  })

  it('names rows as people count them, and leaves units to the field', () => {
    const error = Object.assign(new Error('no'), {
      problem: {
        type: 'not-valid',
        title: 'Something does not fit',
        status: 422,
        errors: [
          { pointer: '#/rows/0/freeSo2MgL', detail: 'must be a number' },
          { pointer: '#/changes/1/untilMin', detail: 'must be later' },
        ],
      },
    })
    render(() => <Failed error={error} />)
    expect(screen.getAllByRole('listitem').map((item) => item.textContent)).toEqual([
      'rows 1 free so2 must be a number',
      'changes 2 until must be later',
    ])
  })
})

describe('a plan in the making', () => {
  it('says so before anything is known, then how far it is, from nothing on', () => {
    const [far, setFar] = createSignal<number | 'waits'>('waits')
    render(() => <PlanningLine far={far()} />)
    const line = screen.getByRole('status')
    const bar = line.querySelector('progress')
    expect(line.textContent).toBe('The plan is being made …')
    expect(bar?.hasAttribute('value')).toBe(false)
    setFar(0)
    expect(line.textContent).toBe('The plan is being made: 0 %')
    setFar(0.414)
    expect(line.textContent).toBe('The plan is being made: 41 %')
    expect(line.querySelector('progress')?.value).toBe(41)
    setFar('waits')
    expect(line.textContent).toBe('The plan is being made …')
  })
})
