/**
 * Deflates what is packed once and fetched often: seconds of work for 4 % less than zlib at its best, and pictures 14 %
 * smaller. The format is the usual one (RFC 1950 and 1951), which every reader takes.
 */
import { deflate, zlib } from '@gfx/zopfli'

/** More passes win some ten bytes a bundle. */
const options = { numiterations: 5 }

/** Bytes as an archive holds them. */
export function deflated(bytes: Uint8Array): Promise<Uint8Array<ArrayBuffer>> {
  return new Promise((done, failed) => {
    deflate(bytes, options, (error, made) => (error === null ? done(Uint8Array.from(made)) : failed(error)))
  })
}

/** Bytes as a picture holds them. */
export function deflatedWithHead(bytes: Uint8Array): Promise<Uint8Array<ArrayBuffer>> {
  return new Promise((done, failed) => {
    zlib(bytes, options, (error, made) => (error === null ? done(Uint8Array.from(made)) : failed(error)))
  })
}
