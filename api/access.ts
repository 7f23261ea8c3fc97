import { CALCULATIONS } from './calc.ts'
import { ROLES, type Role } from './protocol/facts.ts'

/** Who may call an operation. `public`: no sign-in; `anyone`: signed in, whatever the role. */
export type Rule = 'public' | 'anyone' | readonly Role[]

const OWNER = ['owner'] as const
const LEAD = ['owner', 'winemaker'] as const
const CREW = ['owner', 'winemaker', 'hand', 'lab'] as const

/**
 * Every operation and who may call it. What is not here is refused, and the server does not start with a route
 * that has no rule. The same table fills `x-roles` of the OpenAPI document.
 */
export const ACCESS: Readonly<Record<string, Rule>> = {
  'GET /healthz': 'public',
  'GET /readyz': 'public',
  'GET /api/openapi.json': 'public',
  'GET /feed/{file}': 'public',

  'GET /api/me': 'public',
  'POST /api/session': 'public',
  /** Stands on a right password, kept in a cookie of five minutes. */
  'POST /api/session/second': 'public',
  'DELETE /api/session': 'public',
  'PUT /api/me/password': 'anyone',
  'POST /api/me/cellar': 'anyone',
  'GET /api/me/sessions': 'anyone',
  'DELETE /api/me/sessions': 'anyone',
  'DELETE /api/me/sessions/{id}': 'anyone',
  'GET /api/me/passkeys': 'anyone',
  'POST /api/me/passkeys': 'anyone',
  'POST /api/me/passkeys/options': 'anyone',
  'POST /api/me/passkeys/{id}/remove': 'anyone',
  'POST /api/me/recovery-codes': 'anyone',
  'POST /api/device': 'anyone',
  'POST /api/device/lock': 'anyone',
  /** Stands on the number of somebody who stays on this phone. */
  'POST /api/device/switch': 'public',
  'PUT /api/me/language': 'anyone',

  'GET /api/cellar': 'anyone',
  /** Makes the first cellar; the route itself asks for the one-time link of the first start. */
  'POST /api/cellar': 'public',
  'PUT /api/cellar': LEAD,
  'POST /api/cellars': OWNER,

  'GET /api/people': 'anyone',
  'POST /api/people': LEAD,
  'PUT /api/people/{id}': LEAD,
  'POST /api/people/{id}/absences': LEAD,
  'PUT /api/people/{id}/absences/{absence}': LEAD,
  'POST /api/people/{id}/absences/{absence}/remove': LEAD,
  'POST /api/people/{id}/link': LEAD,
  'POST /api/people/{id}/remove': LEAD,
  'POST /api/people/{id}/return': LEAD,
  'DELETE /api/people/{id}/sessions': LEAD,
  'DELETE /api/people/{id}/second-step': OWNER,
  'GET /api/invitations': LEAD,
  'DELETE /api/invitations/{id}': LEAD,

  'GET /api/vessels': 'anyone',
  'POST /api/vessels': LEAD,
  'PUT /api/vessels/{id}': LEAD,
  'GET /api/machines': 'anyone',
  'POST /api/machines': LEAD,
  'PUT /api/machines/{id}': LEAD,

  'GET /api/lots': 'anyone',
  'POST /api/lots': LEAD,
  'POST /api/lots/check': 'anyone',
  'GET /api/lots/{id}': 'anyone',
  'PUT /api/lots/{id}': LEAD,
  'PUT /api/lots/{id}/choices': LEAD,

  'GET /api/protocols': 'anyone',
  'POST /api/protocols': LEAD,
  'PUT /api/protocols/{id}': LEAD,
  'DELETE /api/protocols/{id}': LEAD,

  'GET /api/plan': 'anyone',
  'GET /api/season': 'anyone',
  'GET /api/demand': 'anyone',
  'GET /api/tasks': 'anyone',
  'GET /api/tasks/{lot}/{step}/{count}': 'anyone',
  'GET /api/tasks/{lot}/{step}/{count}/calendar': 'anyone',
  'POST /api/tasks/{lot}/{step}/{count}/start': CREW,
  'POST /api/tasks/{lot}/{step}/{count}/done': CREW,
  'POST /api/tasks/{lot}/{step}/{count}/skip': CREW,
  'POST /api/tasks/{lot}/{step}/{count}/undo': CREW,
  'POST /api/tasks/{lot}/{step}/{count}/note': CREW,
  'POST /api/tasks/{lot}/{step}/{count}/acknowledge': CREW,
  'POST /api/tasks/{lot}/{step}/{count}/caution': CREW,
  'POST /api/tasks/{lot}/{step}/{count}/pin': LEAD,
  'POST /api/tasks/{lot}/{step}/{count}/unpin': LEAD,
  'POST /api/tasks/{lot}/{step}/{count}/assign': LEAD,
  'POST /api/tasks/{lot}/{step}/{count}/preview': LEAD,

  'GET /api/answers': 'anyone',
  'GET /api/answers/{question}': 'anyone',
  'GET /api/proposals': 'anyone',
  'POST /api/proposals/{id}/decide': LEAD,
  'GET /api/trials': 'anyone',
  'POST /api/trials': LEAD,
  'GET /api/trials/{id}': 'anyone',
  'GET /api/trials/{id}/plan': 'anyone',
  'DELETE /api/trials/{id}': LEAD,
  'POST /api/trials/{id}/adopt': LEAD,
  'POST /api/trials/{id}/undo': LEAD,

  /** Each operation in it is judged by the rule of its own kind; what is refused is kept as offered. */
  'POST /api/operations': 'anyone',
  'GET /api/operations': 'anyone',
  'GET /api/record': LEAD,
  'GET /api/record/csv': LEAD,
  'GET /api/record/check': LEAD,
  'GET /api/readings': 'anyone',
  'POST /api/readings': CREW,

  'GET /api/photos': 'anyone',
  'POST /api/photos': CREW,
  'GET /api/photos/{id}': 'anyone',
  'GET /api/troubles': 'anyone',
  'POST /api/troubles': CREW,
  'POST /api/troubles/{id}/answers': LEAD,
  'GET /api/handovers': 'anyone',
  'POST /api/handovers': CREW,
  'POST /api/handovers/{id}/read': CREW,

  'POST /api/import/{table}': LEAD,
  'POST /api/import/calendar/{as}': LEAD,
  'GET /api/export.json': LEAD,
  'GET /api/export/{file}': LEAD,

  'GET /api/feeds': 'anyone',
  'POST /api/feeds': 'anyone',
  'PUT /api/feeds/{id}': 'anyone',
  'POST /api/feeds/{id}/renew': 'anyone',
  'DELETE /api/feeds/{id}': 'anyone',
  'GET /api/changes': 'anyone',

  'GET /api/ledger/stock': 'anyone',
  'GET /api/ledger/vessels/{id}': 'anyone',
  'GET /api/ledger/lots/{id}': 'anyone',
  'GET /api/ledger/trace': 'anyone',
  'GET /api/ledger/movements': 'anyone',
  'POST /api/ledger/movements': CREW,
  'POST /api/ledger/movements/{id}/correct': LEAD,
  'POST /api/ledger/lots/split': LEAD,
  'POST /api/ledger/lots/merge': LEAD,
  'POST /api/ledger/lots/{id}/rename': LEAD,
  'POST /api/ledger/lots/{id}/quarantine': LEAD,
  'GET /api/ledger/registers/{name}': 'anyone',
  'GET /api/ledger/registers/{name}/csv': 'anyone',
  'GET /api/ledger/losses': 'anyone',
  'GET /api/ledger/yields': 'anyone',
  'GET /api/ledger/counts': 'anyone',
  'POST /api/ledger/counts': LEAD,
  'POST /api/ledger/opening': LEAD,
  'POST /api/ledger/additions/{id}/correct': LEAD,
  'GET /api/ledger/checks': 'anyone',
  'POST /api/ledger/checks': LEAD,

  'GET /api/calc': 'anyone',
  ...Object.fromEntries(CALCULATIONS.map((c) => [`POST /api/calc/${c.name}`, 'anyone' as const])),
}

/** The rule of an operation, by its method and its path as the OpenAPI document writes it. */
export const ruleOf = (method: string, path: string): Rule | undefined =>
  ACCESS[`${method.toUpperCase()} ${openPath(path)}`]

/** `/api/lots/:id` as `/api/lots/{id}`. */
export const openPath = (path: string): string => path.replaceAll(/:([A-Za-z]+)(\{[^}]*\})?/g, '{$1}')

export const rolesOf = (rule: Rule): readonly Role[] => (typeof rule === 'string' ? ROLES : rule)

/** Whether somebody with this role, or nobody (`null`), may. */
export function mayCall(rule: Rule | undefined, role: Role | null): 'yes' | 'signed-out' | 'not-allowed' {
  if (rule === 'public') return 'yes'
  if (role === null) return 'signed-out'
  if (rule === undefined) return 'not-allowed'
  return rolesOf(rule).includes(role) ? 'yes' : 'not-allowed'
}

/** Operations without a rule, and rules without an operation. Both must be empty. */
export function unruled(routes: readonly { readonly method: string; readonly path: string }[]) {
  const found = new Set(
    routes.filter((r) => r.method !== 'ALL').map((r) => `${r.method.toUpperCase()} ${openPath(r.path)}`),
  )
  return {
    withoutRule: [...found].filter((key) => !(key in ACCESS)).sort(),
    withoutRoute: Object.keys(ACCESS)
      .filter((key) => !found.has(key))
      .sort(),
  }
}
