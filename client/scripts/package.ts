/**
 * Packs the extension into one .vsix file, which is also what the screen tests install.
 *
 * Usage: node client/scripts/package.ts
 */
import { mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { join, relative } from 'node:path'
import { fileURLToPath } from 'node:url'
import { crc32 } from 'node:zlib'
import { createVSIX } from '@vscode/vsce'
import { strFromU8, strToU8, unzipSync, Zip, type ZipInputFile } from 'fflate'
import { buildBundles } from './build.ts'
import { deflated } from './deflated.ts'

const root = fileURLToPath(new URL('../..', import.meta.url))

/** The packed extension stays small enough to be fetched and started without a wait. */
const largestBytes = 1_000_000

/** The page that the extension is listed with; in the package it is the readme at the top. */
export const listingPage = 'client/listing/listing.md'

/** The earliest time that an archive can say, where `SOURCE_DATE_EPOCH` (in seconds) says no other. */
const earliestS = Date.UTC(1980, 0, 1) / 1000

/**
 * An archive again so that it depends on nothing but what is in it: entries by name, one time, one mode, one compression.
 * @param epochS the time of all entries in s since 1970, as `SOURCE_DATE_EPOCH` has it
 */
export async function settled(archive: Uint8Array, epochS: number): Promise<Uint8Array> {
  const entries = Object.entries(unzipSync(archive)).sort(([a], [b]) => (a < b ? -1 : 1))
  // An archive has the time of a clock on the wall, whatever the zone: the one of UTC here.
  const at = new Date(epochS * 1000)
  const mtime = new Date(at.getUTCFullYear(), at.getUTCMonth(), at.getUTCDate(), at.getUTCHours(), at.getUTCMinutes())
  // What Unix programs read as 644, or 755 for the command; the package's manifest must be writable for the editor.
  const attrs = (name: string): number => (name.endsWith('/detent.cjs') ? 0o100755 : 0o100644) * 0x10000
  const chunks: Uint8Array[] = []
  const archived = new Zip((error, chunk) => {
    if (error) throw error
    chunks.push(chunk)
  })
  for (const [filename, found] of entries) {
    const bytes = filename === typesFile ? sortedTypes(found) : found
    const own = {
      filename,
      size: bytes.length,
      crc: crc32(bytes),
      compression: 8,
      attrs: attrs(filename),
      os: 3,
      mtime,
    }
    const file: ZipInputFile = own
    archived.add(file)
    file.ondata?.(null, await deflated(bytes), true)
  }
  archived.end()
  return Buffer.concat(chunks)
}

/** The archive's own list of kinds of files, which comes in the order in which a disk names its files. */
const typesFile = '[Content_Types].xml'

function sortedTypes(bytes: Uint8Array): Uint8Array {
  const text = strFromU8(bytes)
  const rows = (text.match(/<Default [^>]*>/g) ?? []).sort()
  return strToU8(text.replace(/<Default [^>]*>/g, () => rows.shift() ?? ''))
}

/**
 * Packs the project in a folder, whose bundles are built, into one file, byte for byte the same wherever and whenever.
 * @param packagePath where it goes
 */
export async function packFolder(folder: string, packagePath: string): Promise<Uint8Array> {
  // The listing page lies at the top of the package, with its pictures and pages below: its links stay as they are.
  const lenient = { allowMissingRepository: true, allowUnusedFilesPattern: true, rewriteRelativeLinks: false }
  const loose = `${packagePath}.loose`
  await createVSIX({ cwd: folder, packagePath: loose, dependencies: false, readmePath: listingPage, ...lenient })
  const bytes = await settled(readFileSync(loose), Number(process.env.SOURCE_DATE_EPOCH ?? earliestS))
  rmSync(loose)
  writeFileSync(packagePath, bytes)
  return bytes
}

/**
 * Packs what is shipped and gives the path.
 * @param isBuilt whether the bundles are built already
 * Errors: rejects when the file is too large.
 */
export async function packExtension(isBuilt = false): Promise<string> {
  if (!isBuilt) await buildBundles('shipped')
  const manifest = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8')) as { name: string; version: string }
  mkdirSync(join(root, 'dist'), { recursive: true })
  const packagePath = join(root, 'dist', `${manifest.name}-${manifest.version}.vsix`)
  const bytes = (await packFolder(root, packagePath)).length
  const kilobytes = (count: number): string => `${(count / 1000).toFixed(1)} kB`
  const room = largestBytes - bytes
  console.log(
    `${relative(root, packagePath)}  ${kilobytes(bytes)}, ${kilobytes(Math.abs(room))} ${room < 0 ? 'over' : 'left below'} the limit of ${kilobytes(largestBytes)}`,
  )
  if (bytes > largestBytes) throw new Error(`The packed extension has ${bytes} bytes, more than ${largestBytes}`)
  return packagePath
}

if (import.meta.main) await packExtension()
