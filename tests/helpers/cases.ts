/** Properties are tried on the same cases each time, so that a failure is the change's; `SEED=7 npm test` tries others. */
import fc from 'fast-check'

fc.configureGlobal({ seed: Number(process.env.SEED ?? 20270322) })
