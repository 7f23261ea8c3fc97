/**
 * A screenshot in 256 colours: a quarter of the bytes, and of flat grounds and ink nothing is lost that an eye finds.
 * Source of the format: W3C, Portable Network Graphics (PNG) Specification, third edition: 11.2 chunks, 9.2 filters.
 */
import { crc32, deflateSync, inflateSync } from 'node:zlib'

const SIGNATURE = Buffer.from([137, 80, 78, 71, 13, 10, 26, 10])
const MOST = 256

/** @throws Error where the picture is not eight bits a channel, true colour, not interlaced, as Chromium takes them */
export function smallPng(png: Buffer): Buffer {
  const { width, height, channels, raw } = read(png)
  const pixels = unfiltered(raw, width * channels, height, channels)
  const seen = new Map<number, number>()
  const count = width * height
  const colourAt = (i: number): number =>
    ((pixels[i * channels] as number) << 16) |
    ((pixels[i * channels + 1] as number) << 8) |
    (pixels[i * channels + 2] as number)
  for (let i = 0; i < count; i++) seen.set(colourAt(i), (seen.get(colourAt(i)) ?? 0) + 1)
  const table = [...seen]
    .toSorted((a, b) => b[1] - a[1])
    .slice(0, MOST)
    .map(([colour]) => colour)
  const place = new Map(table.map((colour, i) => [colour, i]))
  const lines = Buffer.alloc((width + 1) * height)
  for (let i = 0; i < count; i++) {
    const colour = colourAt(i)
    let at = place.get(colour)
    if (at === undefined) {
      at = nearest(table, colour)
      place.set(colour, at)
    }
    lines[Math.floor(i / width) * (width + 1) + 1 + (i % width)] = at
  }
  const head = Buffer.alloc(13)
  head.writeUInt32BE(width, 0)
  head.writeUInt32BE(height, 4)
  head.set([8, 3, 0, 0, 0], 8)
  const palette = Buffer.from(table.flatMap((c) => [c >> 16, (c >> 8) & 255, c & 255]))
  return Buffer.concat([
    SIGNATURE,
    chunk('IHDR', head),
    chunk('PLTE', palette),
    chunk('IDAT', deflateSync(lines, { level: 9 })),
    chunk('IEND', Buffer.alloc(0)),
  ])
}

function read(png: Buffer) {
  if (!png.subarray(0, 8).equals(SIGNATURE)) throw new Error('not a PNG')
  const parts: Buffer[] = []
  let head = png.subarray(0, 0)
  for (let at = 8; at < png.length; ) {
    const length = png.readUInt32BE(at)
    const name = png.toString('latin1', at + 4, at + 8)
    if (name === 'IHDR') head = png.subarray(at + 8, at + 8 + length)
    if (name === 'IDAT') parts.push(png.subarray(at + 8, at + 8 + length))
    at += length + 12
  }
  const channels = head[9] === 2 ? 3 : head[9] === 6 ? 4 : 0
  if (head[8] !== 8 || channels === 0 || head[12] !== 0) throw new Error(`not a plain picture: ${[...head]}`)
  return { width: head.readUInt32BE(0), height: head.readUInt32BE(4), channels, raw: inflateSync(Buffer.concat(parts)) }
}

/** Each line begins with the number of its filter; a byte is told by its left, upper and upper left neighbours. */
function unfiltered(raw: Buffer, stride: number, height: number, channels: number): Buffer {
  const out = Buffer.alloc(stride * height)
  for (let y = 0; y < height; y++) {
    const filter = raw[y * (stride + 1)] as number
    for (let x = 0; x < stride; x++) {
      const value = raw[y * (stride + 1) + 1 + x] as number
      const left = x >= channels ? (out[y * stride + x - channels] as number) : 0
      const up = y > 0 ? (out[(y - 1) * stride + x] as number) : 0
      const corner = x >= channels && y > 0 ? (out[(y - 1) * stride + x - channels] as number) : 0
      const told = filter === 1 ? left : filter === 2 ? up : filter === 3 ? (left + up) >> 1 : paeth(left, up, corner)
      out[y * stride + x] = filter === 0 ? value : value + told
    }
  }
  return out
}

function paeth(a: number, b: number, c: number): number {
  const p = a + b - c
  const [pa, pb, pc] = [Math.abs(p - a), Math.abs(p - b), Math.abs(p - c)]
  return pa <= pb && pa <= pc ? a : pb <= pc ? b : c
}

function nearest(table: readonly number[], colour: number): number {
  let best = 0
  let least = Number.POSITIVE_INFINITY
  for (let i = 0; i < table.length; i++) {
    const other = table[i] as number
    const apart =
      ((other >> 16) - (colour >> 16)) ** 2 +
      (((other >> 8) & 255) - ((colour >> 8) & 255)) ** 2 +
      ((other & 255) - (colour & 255)) ** 2
    if (apart < least) {
      least = apart
      best = i
    }
  }
  return best
}

function chunk(name: string, body: Buffer): Buffer {
  const out = Buffer.alloc(body.length + 12)
  out.writeUInt32BE(body.length, 0)
  out.write(name, 4, 'latin1')
  body.copy(out, 8)
  out.writeUInt32BE(crc32(out.subarray(4, body.length + 8)), body.length + 8)
  return out
}
