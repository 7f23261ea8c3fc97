import type { PgDatabase, PgQueryResultHKT } from 'drizzle-orm/pg-core'
import type * as schema from './schema.ts'

/** Either database, or a transaction on it. Named without a driver, so that it can be named anywhere. */
export type Db = PgDatabase<PgQueryResultHKT, typeof schema>
