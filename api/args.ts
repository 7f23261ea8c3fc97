import { parseArgs } from 'node:util'
import { Temporal } from './time.ts'

/** What the command line asks for. */
export interface Args {
  /** The invented cellar, in a folder of its own. */
  readonly demo: boolean
  /** The day the invented cellar lives on: its own dates and its clock. Absent: dated to today. */
  readonly atOn?: Temporal.PlainDate
  /** Start with no cellar and lead through making one. */
  readonly empty: boolean
  readonly port?: number
}

const USAGE = 'Use: npm start -- [--empty] [--port 8040], or npm run demo -- [--at 2027-03-22] [--port 8040]'

/** Reads the command line; a refusal says what was expected. */
export function readArgs(argv: readonly string[]): Args {
  const { values } = parsed(argv)
  if (values.at !== undefined && !values.demo) throw new Error(`--at needs --demo. ${USAGE}`)
  if (values.empty && values.demo) throw new Error(`--empty and --demo exclude each other. ${USAGE}`)
  const port = values.port === undefined ? undefined : Number(values.port)
  if (port !== undefined && !(Number.isInteger(port) && port >= 0 && port <= 65535)) {
    throw new Error(`--port must be a whole number from 0 to 65535, got ${values.port}`)
  }
  return {
    demo: values.demo ?? false,
    empty: values.empty ?? false,
    ...(port === undefined ? {} : { port }),
    ...(values.at === undefined ? {} : { atOn: dayOf(values.at) }),
  }
}

function parsed(argv: readonly string[]) {
  try {
    return parseArgs({
      args: [...argv],
      options: {
        demo: { type: 'boolean' },
        at: { type: 'string' },
        empty: { type: 'boolean' },
        port: { type: 'string' },
      },
    })
  } catch (error) {
    throw new Error(`${error instanceof Error ? error.message : String(error)}. ${USAGE}`)
  }
}

function dayOf(text: string): Temporal.PlainDate {
  try {
    return Temporal.PlainDate.from(text)
  } catch {
    throw new Error(`--at must be a day such as 2027-03-22, got ${text}`)
  }
}
