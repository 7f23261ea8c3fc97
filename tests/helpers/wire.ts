/** A wire between a browser and the server that can be cut, can lose answers, and can have a hotel's sign-in page in it. */
import { createServer, type IncomingMessage, request, type ServerResponse } from 'node:http'
import type { AddressInfo, Socket } from 'node:net'

export interface Wire {
  readonly url: string
  /** No connection comes about, and those there are end. */
  readonly cut: () => void
  readonly mend: () => void
  /** The next answers to operations are lost on their way back. */
  loseAnswers: number
  /** The next operations are answered by a page that is not ours. */
  captive: number
  /** Operations posts that reached the server. */
  readonly posts: () => number
  readonly close: () => Promise<void>
}

export async function startWire(target: string): Promise<Wire> {
  const to = new URL(target)
  const sockets = new Set<Socket>()
  let isCut = false
  let posts = 0
  const wire = { loseAnswers: 0, captive: 0 }
  const server = createServer((req, res) => {
    const isOperations = req.method === 'POST' && req.url === '/api/operations'
    if (isOperations && wire.captive > 0) {
      wire.captive -= 1
      req.resume()
      res.writeHead(200, { 'content-type': 'text/html' }).end('<html><title>Guest network</title></html>')
      return
    }
    if (isOperations) posts += 1
    pass(req, res, to, () => {
      if (!isOperations || wire.loseAnswers === 0) return false
      wire.loseAnswers -= 1
      return true
    })
  })
  server.on('connection', (socket) => {
    if (isCut) return socket.destroy()
    sockets.add(socket)
    socket.on('close', () => sockets.delete(socket))
  })
  await new Promise<void>((done) => server.listen(0, '127.0.0.1', done))
  return Object.assign(wire, {
    url: `http://127.0.0.1:${(server.address() as AddressInfo).port}`,
    cut: () => {
      isCut = true
      for (const socket of sockets) socket.destroy()
    },
    mend: () => {
      isCut = false
    },
    posts: () => posts,
    close: () =>
      new Promise<void>((done) => {
        for (const socket of sockets) socket.destroy()
        server.close(() => done())
      }),
  })
}

function pass(req: IncomingMessage, res: ServerResponse, to: URL, lose: () => boolean): void {
  const on = request(
    { host: to.hostname, port: to.port, method: req.method, path: req.url, headers: req.headers },
    (answer) => {
      // The server has done it; nobody hears so.
      if (lose()) {
        answer.resume()
        res.socket?.destroy()
        return
      }
      res.writeHead(answer.statusCode ?? 502, answer.headers)
      answer.pipe(res)
    },
  )
  on.on('error', () => res.socket?.destroy())
  res.on('close', () => on.destroy())
  req.pipe(on)
}
