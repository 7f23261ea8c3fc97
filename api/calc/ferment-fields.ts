import { z } from '@hono/zod-openapi'
import { num } from './calculation.ts'

export const COLEMAN = 'Coleman, Fish & Block 2007, Appl. Environ. Microbiol. 73:5875, two slopes of Table A2 corrected'
export const CAUTION = 'A working tank gives off CO2: measure the air before anyone bends over or enters.'

export const yan = num('Yeast-assimilable nitrogen', 'mg/L', 10, 1000, 200)
export const mustSugar = num('Fermentable sugar of the must', 'g/L', 20, 400, 220)
const tempPlan = z
  .array(z.object({ hour: num('Hours from the start', 'h', 0, 4800, 0), tempC: num('Temperature', 'C', 0, 45, 15) }))
  .min(1)
  .max(50)
  .meta({ description: 'Temperature over time: straight lines between points; two points at one hour make a step' })
export const ferment = {
  sugarGPerL: mustSugar,
  yanMgPerL: yan,
  tempC: num('Temperature held throughout; tempPlan overrides it', 'C', 0, 45, 15).default(15),
  tempPlan: tempPlan.optional(),
}
