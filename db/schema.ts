/**
 * Every table leads with the cellar: keys, indexes and references. Facts (choices, readings, additions, transfers,
 * what was done) are append-only or versioned; `task`, `phase` and `plan_state` are derived from them.
 */
export * from './schema/access.ts'
export * from './schema/cellar.ts'
export * from './schema/floor.ts'
export * from './schema/ledger.ts'
export * from './schema/log.ts'
export * from './schema/lot.ts'
export * from './schema/plan.ts'
export * from './schema/record.ts'
export * from './schema/trial.ts'
