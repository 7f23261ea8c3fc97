/** The part of the package that we use; it brings no types of its own. */
declare module 'qrcode' {
  interface Modules {
    readonly size: number
    readonly get: (row: number, column: number) => number
  }
  const QR: {
    readonly create: (
      text: string,
      options?: { readonly errorCorrectionLevel?: 'L' | 'M' | 'Q' | 'H' },
    ) => { readonly modules: Modules }
  }
  export default QR
}
