/** A picture as it leaves the phone: drawn anew, so that it is small and carries no notes of the camera on where it was taken. */

/** Bytes of a photo at most; the server and its database hold the same limit. */
export const PHOTO_MAX = 160 * 1024

/** Long side and quality, tried in turn until the picture fits. */
const TRIES = [
  [1280, 0.75],
  [1280, 0.6],
  [1024, 0.6],
  [800, 0.5],
  [640, 0.4],
] as const

/** @returns base64 of a JPEG under the limit. @throws where the file is no picture this browser can draw */
export async function drawnAnew(file: Blob): Promise<string> {
  const picture = await createImageBitmap(file)
  try {
    for (const [side, quality] of TRIES) {
      const bytes = await asJpeg(picture, side, quality)
      if (bytes.length <= PHOTO_MAX) return base64Of(bytes)
    }
  } finally {
    picture.close()
  }
  throw new Error('the picture does not get small enough')
}

async function asJpeg(picture: ImageBitmap, side: number, quality: number): Promise<Uint8Array> {
  const scale = Math.min(1, side / Math.max(picture.width, picture.height))
  const canvas = document.createElement('canvas')
  canvas.width = Math.max(1, Math.round(picture.width * scale))
  canvas.height = Math.max(1, Math.round(picture.height * scale))
  const drawing = canvas.getContext('2d')
  if (!drawing) throw new Error('this browser cannot draw')
  drawing.drawImage(picture, 0, 0, canvas.width, canvas.height)
  const blob = await new Promise<Blob | null>((done) => canvas.toBlob(done, 'image/jpeg', quality))
  if (!blob) throw new Error('this browser cannot write a JPEG')
  return new Uint8Array(await blob.arrayBuffer())
}

/** In pieces: a call with a hundred thousand arguments would overflow. */
function base64Of(bytes: Uint8Array): string {
  let text = ''
  for (let at = 0; at < bytes.length; at += 8192) text += String.fromCharCode(...bytes.subarray(at, at + 8192))
  return btoa(text)
}
