/**
 * Kinetics of a white ferment: Coleman, Fish & Block 2007, "Temperature-dependent kinetic model for nitrogen-limited
 * wine fermentations", Appl. Environ. Microbiol. 73:5875-5884, doi 10.1128/aem.00670-07.
 * Fitted at 11-35 C, 265-300 g/L sugar, 70-350 mg/L nitrogen, one strain, flasks; musts of 180-260 g/L extrapolate.
 * Parameters read through an open-source reconstruction of Table A2, not from the page itself.
 *
 * dX/dt = mu XA, dXA/dt = mu XA - kd XA, dN/dt = -mu XA / Y_XN, dE/dt = beta XA, dS/dt = -beta XA / Y_ES
 * with mu = mu_max N/(K_N+N), beta = beta_max S/(K_S+S), kd = k'd E. All in g/L and hours.
 *
 * Traps. (1) Table A2 prints the slopes of ln k'd (-1.08e-3) and ln Y_XN (-3.61) outside their own credible regions;
 * -0.108 and -0.00361 are used. (2) k'd has its minimum at 11.3 C: temperature is held at 11 in k'd alone, else colder
 * would look more lethal. (3) Y_XN N0 peaks at 277 mg/L: more nitrogen counts as 277. (4) Y_ES 0.55 exceeds the
 * theoretical 0.511 g/g: it lives inside the model only; alcohol is reported by a convention of sugar.ts.
 */
export const NITROGEN_CAP_MG_PER_L = 1 / 0.00361
export const KILL_FLOOR_C = 11
/** exp(-4.73) g N/L */
export const K_N = Math.exp(-4.73)
/** exp(2.33) g sugar/L */
export const K_S = Math.exp(2.33)
/** exp(-0.598) g ethanol per g sugar */
export const Y_ES = Math.exp(-0.598)

/** 1/h */
export const growthMax = (tempC: number): number => Math.exp(-3.92 + 0.0782 * tempC)

/** g ethanol per g cells per h */
export const ethanolRateMax = (tempC: number): number => Math.exp(-2.3 + 0.0771 * tempC)

/** L/g/h: loss of active cells per g/L ethanol */
export function killRate(tempC: number): number {
  const heldC = Math.max(tempC, KILL_FLOOR_C)
  return Math.exp(-9.81 - 0.108 * heldC + 0.00478 * heldC * heldC)
}

/** g cells per g nitrogen */
export const cellYield = (yanMgPerL: number): number => Math.exp(3.5 - 0.00361 * yanMgPerL)
