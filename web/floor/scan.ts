/** Reads the tag on a vessel from camera frames: by the browser where it can, else by our own reader, fetched when it is used. */

type Reader = (frame: HTMLVideoElement) => Promise<string | undefined>

interface Detected {
  readonly rawValue: string
}
interface BarcodeReader {
  readonly detect: (frame: HTMLVideoElement) => Promise<readonly Detected[]>
}
type BarcodeReaderMaker = new (options: { readonly formats: readonly string[] }) => BarcodeReader

async function readerOf(): Promise<Reader> {
  const Maker = (globalThis as { BarcodeDetector?: BarcodeReaderMaker }).BarcodeDetector
  if (Maker) {
    try {
      const detector = new Maker({ formats: ['qr_code'] })
      return async (frame) => (await detector.detect(frame))[0]?.rawValue
    } catch {
      // Named by the browser, but not for this kind of code.
    }
  }
  const { default: readQr } = await import('qr/decode.js')
  const canvas = document.createElement('canvas')
  const drawing = canvas.getContext('2d', { willReadFrequently: true })
  return async (frame) => {
    if (!drawing || frame.videoWidth === 0) return undefined
    // A tag at arm's length is read at this size; more pixels only cost time.
    const scale = Math.min(1, 640 / frame.videoWidth)
    canvas.width = Math.round(frame.videoWidth * scale)
    canvas.height = Math.round(frame.videoHeight * scale)
    drawing.drawImage(frame, 0, 0, canvas.width, canvas.height)
    try {
      return readQr(drawing.getImageData(0, 0, canvas.width, canvas.height))
    } catch {
      return undefined // no code in this frame
    }
  }
}

const EVERY_MS = 200

/**
 * Shows the camera in `video` and calls `found` with the text of each code until it returns true.
 * @returns what ends it. @throws where there is no camera or nobody allows it
 */
export async function scanInto(video: HTMLVideoElement, found: (text: string) => boolean): Promise<() => void> {
  const stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: 'environment' }, audio: false })
  let going = true
  const end = () => {
    going = false
    for (const track of stream.getTracks()) track.stop()
  }
  try {
    video.srcObject = stream
    await video.play()
    const read = await readerOf()
    const look = async () => {
      if (!going) return
      const text = await read(video).catch(() => undefined)
      if (going && text !== undefined && found(text)) return end()
      setTimeout(() => void look(), EVERY_MS)
    }
    void look()
    return end
  } catch (error) {
    end()
    throw error
  }
}
