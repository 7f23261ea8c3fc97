/** The surface for paper and files: an SVG document as text, its words as text. */
import { elbowOf, type PathStyle, type Place, type Surface, type TextStyle } from './surface.ts'

export interface SvgDrawing {
  readonly surface: Surface
  /** Elements drawn so far, with the definitions they use. */
  body(): string
}

const n = (value: number): string => String(Math.round(value * 100) / 100)

export const escapeXml = (words: string): string =>
  words.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;').replaceAll('"', '&quot;')

export function svgDrawing(prefix = 's'): SvgDrawing {
  const defs: string[] = []
  const stamps = new Map<number | string, string>()
  let out: string[] = []
  let clips = 0

  const at = ({ x, y, scale = 1 }: Place): string =>
    `transform="translate(${n(x)} ${n(y)})${scale === 1 ? '' : ` scale(${n(scale)})`}"`
  const style = ({ fill, stroke, width = 1 }: PathStyle): string =>
    `fill="${fill ?? 'none'}"${stroke ? ` stroke="${stroke}" stroke-width="${n(width)}"` : ''}`
  const within = (clip: string, inside: () => void) => {
    const id = `${prefix}c${clips++}`
    defs.push(`<clipPath id="${id}">${clip}</clipPath>`)
    out.push(`<g clip-path="url(#${id})">`)
    inside()
    out.push('</g>')
  }

  const surface: Surface = {
    rect: (x, y, w, h, fill) => {
      out.push(
        `<rect x="${n(x)}" y="${n(y)}" width="${n(Math.max(0, w))}" height="${n(Math.max(0, h))}" fill="${fill}"/>`,
      )
    },
    path: (d, place, look) => {
      out.push(`<path d="${d}" ${at(place)} ${style(look)}/>`)
    },
    segments: (points, stroke, width, dash) => {
      if (points.length === 0) return
      let d = ''
      for (let i = 0; i < points.length; i += 4)
        d += `M${n(points[i] as number)} ${n(points[i + 1] as number)}L${n(points[i + 2] as number)} ${n(points[i + 3] as number)}`
      out.push(
        `<path d="${d}" fill="none" stroke="${stroke}" stroke-width="${n(width)}"${dash ? ` stroke-dasharray="${dash.join(' ')}"` : ''}/>`,
      )
    },
    rects: (boxes, fill) => {
      let d = ''
      for (let i = 0; i < boxes.length; i += 4)
        d += `M${n(boxes[i] as number)} ${n(boxes[i + 1] as number)}h${n(boxes[i + 2] as number)}v${n(boxes[i + 3] as number)}h${n(-(boxes[i + 2] as number))}z`
      if (d) out.push(`<path d="${d}" fill="${fill}"/>`)
    },
    elbows: (links, stroke, width, dash) => {
      const points: number[] = []
      for (let i = 0; i < links.length; i += 4) {
        const [x1, y1, x2, y2] = links.slice(i, i + 4) as [number, number, number, number]
        const elbow = elbowOf(x1, x2)
        points.push(x1, y1, elbow, y1, elbow, y1, elbow, y2, elbow, y2, x2, y2)
      }
      surface.segments(points, stroke, width, dash)
    },
    dots: (centres, radius, colour, open) => {
      if (centres.length === 0) return
      if (open) {
        for (let i = 0; i < centres.length; i += 2)
          out.push(
            `<circle cx="${n(centres[i] as number)}" cy="${n(centres[i + 1] as number)}" r="${n(radius)}" fill="none" stroke="${colour}"/>`,
          )
        return
      }
      let d = ''
      for (let i = 0; i < centres.length; i += 2) d += `M${n(centres[i] as number)} ${n(centres[i + 1] as number)}h.01`
      out.push(`<path d="${d}" fill="none" stroke="${colour}" stroke-width="${n(radius * 2)}" stroke-linecap="round"/>`)
    },
    dotted: (lines, colour) => {
      const points: number[] = []
      for (let i = 0; i < lines.length; i += 3) {
        const [x1, x2, y] = lines.slice(i, i + 3) as [number, number, number]
        points.push(x1, y, x2, y)
      }
      surface.segments(points, colour, 1, [1, 3])
    },
    teeth: ({ x, y, count, every, dx, dy }, colour) => {
      const points: number[] = []
      for (let i = 0; i < count; i++) points.push(x + i * every, y, x + i * every + dx, y + dy)
      surface.segments(points, colour, 1)
    },
    text: (words, x, y, look: TextStyle) => {
      if (words === '') return
      const anchor = look.align && look.align !== 'start' ? ` text-anchor="${look.align}"` : ''
      const weight = look.weight && look.weight !== 400 ? ` font-weight="${look.weight}"` : ''
      out.push(
        `<text x="${n(x)}" y="${n(y)}" font-size="${n(look.px)}" fill="${look.fill}"${anchor}${weight}>${escapeXml(words)}</text>`,
      )
    },
    clipRect: (x, y, w, h, inside) =>
      within(`<rect x="${n(x)}" y="${n(y)}" width="${n(w)}" height="${n(h)}"/>`, inside),
    clipPath: (d, place, inside) => within(`<path d="${d}" ${at(place)}/>`, inside),
    pixels: (x, y, w, h, kinds, colours) => {
      // Runs of one colour, line by line.
      for (let row = 0; row < h; row++) {
        let from = 0
        for (let at = 1; at <= w; at++) {
          const kind = kinds[row * w + from] as number
          if (at < w && kinds[row * w + at] === kind) continue
          if (kind > 0) surface.rect(x + from, y + row, at - from, 1, colours[kind] as string)
          from = at
        }
      }
    },
    stamp: (name, _halfPx, x, y, draw) => {
      let id = stamps.get(name)
      if (!id) {
        id = `${prefix}p${stamps.size}`
        stamps.set(name, id)
        const outer = out
        out = []
        draw(surface)
        defs.push(`<g id="${id}">${out.join('')}</g>`)
        out = outer
      }
      out.push(`<use href="#${id}" x="${n(x)}" y="${n(y)}"/>`)
    },
  }
  return { surface, body: () => `<defs>${defs.join('')}</defs>${out.join('')}` }
}

export function svgDocument(
  widthPx: number,
  heightPx: number,
  title: string,
  description: string,
  body: string,
): string {
  return `<svg xmlns="http://www.w3.org/2000/svg" width="${n(widthPx)}" height="${n(heightPx)}" viewBox="0 0 ${n(widthPx)} ${n(heightPx)}" role="img" font-family="system-ui, sans-serif"><title>${escapeXml(title)}</title><desc>${escapeXml(description)}</desc>${body}</svg>`
}
