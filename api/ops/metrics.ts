import { createServer, type Server } from 'node:http'
import { Counter, collectDefaultMetrics, Gauge, Histogram, Registry } from 'prom-client'

/** Figures for operators, in the text form of OpenMetrics. Without names, codes or addresses of anybody. */
export interface Metrics {
  /** @param route the pattern, never the path: paths hold ids and tokens */
  readonly answered: (method: string, route: string, status: number, seconds: number) => void
  readonly planned: (seconds: number, changed: number) => void
  readonly backedUp: (atSeconds: number) => void
  readonly text: () => Promise<string>
}

export function createMetrics(watch: { readonly streams: () => number }): Metrics {
  const register = new Registry()
  collectDefaultMetrics({ register, prefix: 'leesway_' })
  const requests = new Histogram({
    name: 'leesway_http_request_seconds',
    help: 'Time to answer, by route pattern and class of status',
    labelNames: ['method', 'route', 'status'],
    buckets: [0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5],
    registers: [register],
  })
  const plans = new Histogram({
    name: 'leesway_plan_seconds',
    help: 'Time from reading the facts to the stored plan',
    buckets: [0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10],
    registers: [register],
  })
  const changed = new Counter({
    name: 'leesway_plan_changed_tasks_total',
    help: 'Tasks that were new, moved or cancelled by a plan',
    registers: [register],
  })
  const backup = new Gauge({
    name: 'leesway_last_backup_timestamp_seconds',
    help: 'When the last nightly backup was made and read back',
    registers: [register],
  })
  new Gauge({
    name: 'leesway_open_streams',
    help: 'Screens that listen for changes',
    registers: [register],
    collect() {
      this.set(watch.streams())
    },
  })
  return {
    answered: (method, route, status, seconds) =>
      requests.observe({ method, route, status: `${Math.floor(status / 100)}xx` }, seconds),
    planned: (seconds, count) => {
      plans.observe(seconds)
      changed.inc(count)
    },
    backedUp: (atSeconds) => backup.set(atSeconds),
    text: () => register.metrics(),
  }
}

/** On this machine only, apart from the port people use: nothing to protect by a role, nothing to forget open. */
export function serveMetrics(metrics: Metrics, port: number): Promise<Server> {
  const server = createServer((asked, answer) => {
    if (asked.url !== '/metrics' || asked.method !== 'GET') {
      answer.writeHead(404, { 'content-type': 'text/plain' }).end('Only GET /metrics\n')
      return
    }
    metrics
      .text()
      .then((text) => answer.writeHead(200, { 'content-type': 'text/plain; version=0.0.4; charset=utf-8' }).end(text))
      .catch(() => answer.writeHead(500).end())
  })
  return new Promise((done, fail) => {
    server.once('error', fail)
    server.listen(port, '127.0.0.1', () => done(server))
  })
}
