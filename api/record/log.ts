/** The work log: what the record holds, a line an entry, in words that an inspector can read. */
import type { StoredEntry } from '../../db/queries/record.ts'
import { readingUnit } from '../cellar/plausible.ts'

export interface LogNames {
  readonly people: ReadonlyMap<string, string>
  readonly lots: ReadonlyMap<string, string>
  readonly vessels: ReadonlyMap<string, string>
  readonly tasks: ReadonlyMap<string, string>
}

export interface LogLine {
  readonly entry: number
  readonly at: string
  readonly writtenAt: string
  readonly kind: string
  readonly words: string
  readonly person?: string
  readonly lot?: string
  readonly vessel?: string
  readonly task?: string
  readonly taskKey?: string
  readonly opId?: string
  readonly correctsId?: string
  readonly subjectId: string
  readonly hash: string
}

export const LOG_COLUMNS = [
  'entry',
  'at',
  'writtenAt',
  'kind',
  'words',
  'person',
  'lot',
  'vessel',
  'task',
  'taskKey',
  'correctsId',
  'subjectId',
  'opId',
  'hash',
] as const

export function lineOf(e: StoredEntry, names: LogNames): LogLine {
  const told = JSON.parse(e.payload) as Readonly<Record<string, unknown>>
  const named = (map: ReadonlyMap<string, string>, id: string | null) => (id === null ? undefined : (map.get(id) ?? id))
  const optional = {
    person: named(names.people, e.personId),
    lot: named(names.lots, e.lotId) ?? e.taskKey?.split('/')[0],
    vessel: named(names.vessels, e.vesselId),
    task: named(names.tasks, e.taskKey),
    taskKey: e.taskKey ?? undefined,
    opId: e.opId ?? undefined,
    correctsId: e.correctsId ?? undefined,
  }
  return {
    entry: e.entry,
    at: e.at.toString(),
    writtenAt: e.writtenAt.toString(),
    kind: e.kind,
    words: wordsOf(e.kind, told, names),
    ...(Object.fromEntries(Object.entries(optional).filter(([, v]) => v !== undefined)) as Partial<typeof optional>),
    subjectId: e.subjectId,
    hash: e.hash,
  }
}

const ACTS: Readonly<Record<string, string>> = {
  start: 'Began',
  done: 'Done',
  skip: 'Left out',
  pin: 'Pinned',
  unpin: 'Let go',
  assign: 'Given to',
  undo: 'Taken back',
  note: 'Note',
  acknowledge: 'Doses looked at',
  caution: 'Caution read',
  problem: 'Problem',
}

type Told = Readonly<Record<string, unknown>>

function wordsOf(kind: string, told: Told, names: LogNames): string {
  const said = (text: unknown) => (typeof text === 'string' && text !== '' ? `: ${text}` : '')
  const act = ACTS[kind]
  if (act) {
    const people = Array.isArray(told.people) ? told.people.map((id) => names.people.get(String(id)) ?? String(id)) : []
    return `${act}${people.length > 0 ? ` ${people.join(', ')}` : ''}${said(told.reason)}`
  }
  switch (kind) {
    case 'reading':
      return `${told.kind} ${told.value}${unitOf(told.kind)}${told.correctsId ? ', corrects an earlier reading' : ''}${said(told.note)}`
    case 'addition': {
      const batch = told.batchNo ? `, batch ${told.batchNo}` : ''
      const back = told.reversesId ? `taken back${said(told.reason)}, ` : ''
      return `${back}${told.product} ${told.amount} ${told.unit} in ${told.treatedL} L${batch}`
    }
    case 'movement': {
      const end = (side: 'from' | 'to') =>
        told[`${side}Kind`] === 'vessel'
          ? (names.vessels.get(String(told[`${side}VesselId`])) ?? String(told[`${side}VesselId`]))
          : String(told[`${side}Kind`])
      return `${end('from')} to ${end('to')}, ${Number(told.volumeMl) / 1000} L, ${told.cause}${said(told.reason)}`
    }
    case 'choices':
      return `Answers, version ${told.version}`
    case 'rename':
      return `${told.from} is called ${told.to}${said(told.reason)}`
    case 'person':
      return `${told.name}, ${told.role}${said(told.words)}`
    case 'vessel':
      return `Vessel ${told.code}, ${told.kind}, ${told.volumeL} L${wasWords(told)}${said(told.words)}`
    case 'machine':
      return `Machine ${told.code} ${told.name}, ${told.kind}${wasWords(told)}${said(told.words)}`
    case 'lot':
      return `Lot ${told.code} ${told.name}, picked ${told.pickOn}${told.endedAt ? ', ended' : ''}${said(told.words)}`
    case 'cellar':
      return `Cellar ${told.name}${said(told.words)}`
    case 'trial':
      return `Trial ${told.name} ${told.state === 'adopted' ? 'adopted' : 'taken back'}`
    case 'trouble':
      return `Trouble reported: ${told.kind}${said(told.words)}`
    case 'offered':
      return `Not accepted: ${told.kind}${said(told.refused)}`
    case 'settle':
      return `Decided about what was not accepted: ${told.how}`
    case 'photo':
      return `Photo${said(told.words)}`
    default:
      return `${kind}${said(told.words)}`
  }
}

/** ` mg/L`, or nothing for what has no unit. */
function unitOf(kind: unknown): string {
  const unit = readingUnit(String(kind))
  return unit && ` ${unit}`
}

/** What was otherwise before, each beside what it is now. */
function wasWords(told: Told): string {
  const was = told.was as Told | undefined
  if (!was) return ', new'
  const each = Object.entries(was).map(([name, before]) =>
    name === 'code' ? `was called ${before}` : `${NAMES[name] ?? name} ${shown(told[name])}, was ${shown(before)}`,
  )
  return `; ${each.join('; ')}`
}

const NAMES: Readonly<Record<string, string>> = {
  volumeL: 'litres',
  minC: 'coldest °C',
  pressureBar: 'bar',
  press: 'programs',
  bookings: 'booked out',
}

function shown(value: unknown): string {
  if (value === undefined || value === null) return 'none'
  if (Array.isArray(value)) {
    const spans = (value as readonly { fromAt: string; toAt: string; why: string }[]).map(
      (b) => `${b.fromAt} to ${b.toAt} (${b.why})`,
    )
    return spans.join(' and ') || 'never'
  }
  return typeof value === 'object' ? JSON.stringify(value) : String(value)
}
