/**
 * Packs the extension into one .vsix file, which is also what the screen tests install.
 *
 * Usage: node client/scripts/package.ts
 */
import { mkdirSync, readFileSync, statSync } from 'node:fs'
import { join, relative } from 'node:path'
import { fileURLToPath } from 'node:url'
import { createVSIX } from '@vscode/vsce'
import { buildBundles } from './build.ts'

const root = fileURLToPath(new URL('../..', import.meta.url))

/** The packed extension stays small enough to be fetched and started without a wait. */
const largestBytes = 1_000_000

/** The page that the extension is listed with; in the package it is the readme at the top. */
export const listingPage = 'client/listing/listing.md'

/** Builds, packs and gives the path. Errors: rejects when the file is too large. */
export async function packExtension(): Promise<string> {
  await buildBundles('shipped')
  const manifest = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8')) as { name: string; version: string }
  mkdirSync(join(root, 'dist'), { recursive: true })
  const packagePath = join(root, 'dist', `${manifest.name}-${manifest.version}.vsix`)
  // The listing page lies at the top of the package, with its pictures and pages below: its links stay as they are.
  const lenient = { allowMissingRepository: true, allowUnusedFilesPattern: true, rewriteRelativeLinks: false }
  await createVSIX({ cwd: root, packagePath, dependencies: false, readmePath: listingPage, ...lenient })
  const bytes = statSync(packagePath).size
  const kilobytes = (count: number): string => `${(count / 1000).toFixed(1)} kB`
  const room = largestBytes - bytes
  console.log(
    `${relative(root, packagePath)}  ${kilobytes(bytes)}, ${kilobytes(Math.abs(room))} ${room < 0 ? 'over' : 'left below'} the limit of ${kilobytes(largestBytes)}`,
  )
  if (bytes > largestBytes) throw new Error(`The packed extension has ${bytes} bytes, more than ${largestBytes}`)
  return packagePath
}

if (import.meta.main) await packExtension()
