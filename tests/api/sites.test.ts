import { beforeAll, describe, expect, it } from 'vitest'
import type { CellarWire, MachineWire, VesselWire } from '../../api/wire.ts'
import { type Call, type Made, makeApp, type ProblemBody } from './make.ts'

let made: Made
let call: Call

const cellarNow = async () => (await call<CellarWire>('GET', '/api/cellar')).body
const vesselNow = async (id: string) =>
  (await call<{ vessels: VesselWire[] }>('GET', '/api/vessels')).body.vessels.find((v) => v.id === id)!

/** What a form sends back of the cellar. */
async function sendSites(sites: unknown) {
  const { name, hemisphere, vintage, zone, version } = await cellarNow()
  return call<CellarWire & ProblemBody>('PUT', '/api/cellar', { name, hemisphere, vintage, zone, sites, version })
}
async function sendVessel(id: string, site: string | undefined) {
  const { code, kind, volumeL, jacket, insulated, pressureBar, state, version } = await vesselNow(id)
  const body = { code, kind, volumeL, jacket, insulated, pressureBar, state, version, ...(site ? { site } : {}) }
  return call<{ vessel: VesselWire } & ProblemBody>('PUT', `/api/vessels/${id}`, body)
}
const pointers = (body: ProblemBody) => body.errors?.map((e) => e.pointer)

const SITES = [
  { name: 'Hill', awayMin: 25 },
  { name: 'Dale', awayMin: 10, to: { Hill: 20 } },
]

beforeAll(async () => {
  made = await makeApp()
  call = made.as('winemaker')
})

describe('sites of a cellar', () => {
  it('are none until somebody tells them, and then a vessel or a machine may stand there', async () => {
    expect((await cellarNow()).sites).toEqual([])
    expect((await call<object>('GET', '/api/season')).body).not.toHaveProperty('travel')
    const early = await sendVessel('T07', 'Hill')
    expect([early.status, pointers(early.body)]).toEqual([422, ['#/site']])
    expect((await sendSites(SITES)).body.sites).toEqual(SITES)
    expect((await sendVessel('T07', 'Hill')).body.vessel.site).toBe('Hill')
    expect((await vesselNow('T07')).site).toBe('Hill')
    const machines = (await call<{ machines: MachineWire[] }>('GET', '/api/machines')).body.machines
    const { id, ...pump } = machines.find((m) => m.code === 'P3')!
    const put = await call<{ machine: MachineWire }>('PUT', `/api/machines/${id}`, { ...pump, site: 'Dale' })
    expect(put.body.machine.site).toBe('Dale')
    const wrong = await call<ProblemBody>('POST', '/api/vessels', {
      code: 'T99',
      kind: 'tank',
      volumeL: 900,
      site: 'Nowhere',
    })
    expect([wrong.status, pointers(wrong.body), wrong.body.errors?.[0]?.detail]).toEqual([
      422,
      ['#/site'],
      'is not a site of the cellar: Hill, Dale',
    ])
  })

  it('are told to the timeline with the shortest ways between them', async () => {
    const season = await call<{ travel?: unknown }>('GET', '/api/season')
    // From the hill to the dale is told as 20 min; over the cellar it were 35.
    expect(season.body.travel).toEqual({
      sites: ['', 'Hill', 'Dale'],
      minutes: [
        [0, 25, 10],
        [25, 0, 20],
        [10, 20, 0],
      ],
    })
  })

  it('stay where a change of the cellar does not speak of them', async () => {
    expect((await sendSites(undefined)).body.sites).toEqual(SITES)
  })

  it('are refused twice by one name, and with a way to a site that is none', async () => {
    const twice = await sendSites([SITES[0], SITES[0]])
    expect([twice.status, pointers(twice.body)]).toEqual([422, ['#/sites/1/name']])
    const lost = await sendSites([{ name: 'Dale', awayMin: 10, to: { Hill: 20 } }])
    expect([lost.status, pointers(lost.body)]).toEqual([422, ['#/sites/0/to']])
  })

  it('leave with the vessels, and come back by a table', async () => {
    const [head = '', ...rows] = (await call('GET', '/api/export/vessels.csv')).text.trim().split(/\r?\n/)
    const at = head.split(',').indexOf('site')
    expect(rows.map((r) => r.split(',')).find((r) => r.includes('T07'))?.[at]).toBe('Hill')
    const look = async (site: string) =>
      (await call('POST', '/api/import/vessels?preview=true', `code,kind,volumeL,site\nT98,tank,900,${site}\n`)).body
    expect(await look('Dale')).toMatchObject({ good: 1, bad: 0, rows: [{ value: { site: 'Dale' } }] })
    expect(await look('Moon')).toMatchObject({ good: 0, rows: [{ errors: [{ column: 'site' }] }] })
  })

  it('take a vessel back to the cellar itself', async () => {
    expect((await sendVessel('T07', undefined)).body.vessel.site).toBeUndefined()
  })
})
