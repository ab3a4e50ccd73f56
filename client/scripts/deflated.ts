/**
 * Deflates what is packed once and fetched often: seconds of work for 4 % less than zlib at its best, and pictures 14 %
 * smaller. The format is the usual one (RFC 1950 and 1951), which every reader takes.
 */
import { deflate, zlib } from '@gfx/zopfli'

/** Ten more passes win less than a hundred bytes a bundle, and take twice the time. */
const options = { numiterations: 5 }

const made =
  (by: typeof deflate) =>
  (bytes: Uint8Array): Promise<Uint8Array<ArrayBuffer>> =>
    new Promise((done, failed) => {
      by(bytes, options, (error, found) => (error === null ? done(Uint8Array.from(found)) : failed(error)))
    })

/** Bytes as an archive holds them. */
export const deflated = made(deflate)

/** Bytes as a picture holds them. */
export const deflatedWithHead = made(zlib)
