/**
 * Makes the pictures of the README, the listing page and the walkthrough from those that the screen test `readme` leaves in
 * test-output: few colours, so that they take little of the packed extension.
 *
 * Usage: npm run test:editor -- --look readme && node client/scripts/screenshot.ts
 */
import { readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { crc32, inflateSync } from 'node:zlib'
import { deflatedWithHead } from './deflated.ts'

const root = fileURLToPath(new URL('../..', import.meta.url))

/** As many as text with smooth edges in a few colours needs to look the same. */
const mostColours = 16

interface Picture {
  readonly width: number
  readonly height: number
  /** Red, green and blue of each pixel, row by row. */
  readonly pixels: Uint8Array
}

const signature = Uint8Array.of(0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a)

/** Takes back what a row's filter (PNG specification, section 9) did with the bytes to the left and above. */
function unfilter(kind: number, row: Uint8Array, above: Uint8Array, size: number): void {
  for (let at = 0; at < row.length; at++) {
    const left = row[at - size] ?? 0
    const up = above[at] ?? 0
    const corner = above[at - size] ?? 0
    const guess = left + up - corner
    const [a, b, c] = [Math.abs(guess - left), Math.abs(guess - up), Math.abs(guess - corner)]
    const nearest = a <= b && a <= c ? left : b <= c ? up : corner
    const before = [0, left, up, (left + up) >> 1, nearest][kind] ?? 0
    row[at] = (row[at] ?? 0) + before
  }
}

/** Reads a PNG as the browser writes it: eight bits a channel, not interlaced. Errors: throws on any other. */
function readPng(file: Buffer): Picture {
  const data: Buffer[] = []
  let [width, height, size] = [0, 0, 0]
  for (let at = signature.length; at < file.length; ) {
    const length = file.readUInt32BE(at)
    const kind = file.toString('latin1', at + 4, at + 8)
    const content = file.subarray(at + 8, at + 8 + length)
    if (kind === 'IHDR') {
      width = content.readUInt32BE(0)
      height = content.readUInt32BE(4)
      size = { 2: 3, 6: 4 }[content[9] ?? 0] ?? 0
      if (content[8] !== 8 || size === 0 || content[12] !== 0)
        throw new Error('This is not a PNG of the kind a browser writes')
    } else if (kind === 'IDAT') data.push(content)
    at += length + 12
  }
  const bytes = inflateSync(Buffer.concat(data))
  const pixels = new Uint8Array(width * height * 3)
  let above = new Uint8Array(width * size)
  for (let y = 0; y < height; y++) {
    const start = y * (width * size + 1)
    const row = bytes.subarray(start + 1, start + 1 + width * size)
    unfilter(bytes[start] ?? 0, row, above, size)
    for (let x = 0; x < width; x++) pixels.set(row.subarray(x * size, x * size + 3), (y * width + x) * 3)
    above = row
  }
  return { width, height, pixels }
}

function distance(a: number, b: number): number {
  return [16, 8, 0].reduce((sum, shift) => sum + (((a >> shift) & 255) - ((b >> shift) & 255)) ** 2, 0)
}

/**
 * The colours to keep: one after another the one that would be missed most, by how many pixels have it and how far it is
 * from those kept so far. So a thin line of its own colour stays.
 */
function keptColours(counts: ReadonlyMap<number, number>): readonly number[] {
  const left = new Map([...counts].map(([colour]) => [colour, Number.MAX_SAFE_INTEGER]))
  const kept: number[] = []
  while (kept.length < mostColours && left.size > 0) {
    let next = 0
    let most = -1
    for (const [colour, far] of left) {
      const missed = Math.sqrt(counts.get(colour) ?? 0) * far
      if (missed > most) [next, most] = [colour, missed]
    }
    kept.push(next)
    left.delete(next)
    for (const [colour, far] of left) left.set(colour, Math.min(far, distance(colour, next)))
  }
  return kept
}

/** The kept colours, and for each pixel the nearest of them. */
function withFewColours({ pixels }: Picture): { readonly colours: readonly number[]; readonly indexes: Uint8Array } {
  const counts = new Map<number, number>()
  const colourAt = (at: number): number =>
    ((pixels[at] ?? 0) << 16) | ((pixels[at + 1] ?? 0) << 8) | (pixels[at + 2] ?? 0)
  for (let at = 0; at < pixels.length; at += 3) counts.set(colourAt(at), (counts.get(colourAt(at)) ?? 0) + 1)
  const colours = keptColours(counts)
  const nearest = new Map<number, number>()
  for (const colour of counts.keys()) {
    const found = colours.reduce((best, one, index) => {
      return distance(one, colour) < distance(colours[best] ?? 0, colour) ? index : best
    }, 0)
    nearest.set(colour, found)
  }
  const indexes = new Uint8Array(pixels.length / 3)
  for (let at = 0; at < indexes.length; at++) indexes[at] = nearest.get(colourAt(at * 3)) ?? 0
  return { colours, indexes }
}

function chunk(kind: string, content: Uint8Array): Buffer {
  const named = Buffer.concat([Buffer.from(kind, 'latin1'), content])
  const [length, check] = [Buffer.alloc(4), Buffer.alloc(4)]
  length.writeUInt32BE(content.length)
  check.writeUInt32BE(crc32(named))
  return Buffer.concat([length, named, check])
}

/** A PNG with a palette. */
async function writePng(picture: Picture): Promise<Buffer> {
  const { width, height } = picture
  const { colours, indexes } = withFewColours(picture)
  const head = Buffer.alloc(13)
  head.writeUInt32BE(width, 0)
  head.writeUInt32BE(height, 4)
  head.set([8, 3, 0, 0, 0], 8)
  const palette = Buffer.from(colours.flatMap(colour => [colour >> 16, (colour >> 8) & 255, colour & 255]))
  const rows = Buffer.alloc((width + 1) * height)
  for (let y = 0; y < height; y++) rows.set(indexes.subarray(y * width, (y + 1) * width), y * (width + 1) + 1)
  return Buffer.concat([
    signature,
    chunk('IHDR', head),
    chunk('PLTE', palette),
    chunk('IDAT', await deflatedWithHead(rows)),
    chunk('IEND', new Uint8Array()),
  ])
}

/** Pictures of the extension by the screenshots that they are made from. */
const pictures: Readonly<Record<string, string>> = {
  readme: 'screenshot',
  'readme-findings': 'findings',
  'readme-sheet': 'sheet',
  'readme-run': 'run',
  'readme-fit': 'fit',
  'readme-compare': 'compare',
}

for (const [from, to] of Object.entries(pictures)) {
  const made = await writePng(readPng(readFileSync(join(root, 'test-output', 'screenshots', `${from}.png`))))
  writeFileSync(join(root, 'client', 'media', `${to}.png`), made)
  console.log(`client/media/${to}.png  ${Math.round(made.length / 1000)} kB`)
}
