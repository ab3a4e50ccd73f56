/**
 * Bundles what is shipped: the extension client, the language server and the command. The client and the server run with
 * and without Node; for a host with Node each has a second, small bundle that stands on the first.
 *
 * Usage: node client/scripts/build.ts [--development]
 */
import { chmodSync, readFileSync, statSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import type { BuildOptions } from 'esbuild'
import { noticesOf, noticesText, objections } from './notices.ts'
import { type Bundle, type BundleInputs, buildShared } from './shared-modules.ts'

export type BuildKind = 'shipped' | 'development'

const root = fileURLToPath(new URL('../..', import.meta.url))

const node: BuildOptions = { platform: 'node', format: 'cjs', target: 'node22' }
const web: BuildOptions = { platform: 'browser', format: 'cjs', target: 'es2023' }

/**
 * Files of libraries in the place of their entries, which hold what is not asked for: around a function a second one for
 * speed that brings text formatting along.
 */
const slimmer = {
  '@stdlib/stats-base-dists-normal-cdf': './node_modules/@stdlib/stats-base-dists-normal-cdf/lib/main.js',
  '@stdlib/stats-base-dists-normal-quantile': './node_modules/@stdlib/stats-base-dists-normal-quantile/lib/main.js',
  '@stdlib/stats-base-dists-t-cdf': './node_modules/@stdlib/stats-base-dists-t-cdf/lib/main.js',
  '@stdlib/stats-base-dists-t-quantile': './node_modules/@stdlib/stats-base-dists-t-quantile/lib/main.js',
}

/** The licences of all that the bundles hold of others. */
export const noticesFile = 'third-party-notices.txt'

/** What a person and the client start: it loads the command's own bundle. */
const command = 'detent.cjs'

/** A CommonJS bundle has no import.meta, which sources use to find files beside themselves. */
const ownAddress: BuildOptions = {
  banner: { js: "const importMetaUrl = require('node:url').pathToFileURL(__filename).href;" },
  define: { 'import.meta.url': 'importMetaUrl' },
}

/** Says plainly that an old Node will not do, before the parser library fails on one. */
const commandHead = `#!/usr/bin/env node
if (Number.parseInt(process.versions.node, 10) < 22) {
  console.error('detent needs Node 22 or later; this is ' + process.version + '.');
  process.exit(2);
}
${ownAddress.banner?.js}`

const bundles: readonly Bundle[] = [
  {
    name: 'web.cjs',
    entry: 'client/web.ts',
    exports: ['activate', 'deactivate'],
    options: { ...web, external: ['vscode'] },
  },
  { name: 'client.cjs', entry: 'client/extension.ts', from: 'web.cjs', options: { ...node, external: ['vscode'] } },
  { name: 'server.cjs', entry: 'server/lsp/worker.ts', exports: ['startWorker'], from: 'web.cjs', options: web },
  { name: 'command.cjs', entry: 'server/cli/main.ts', from: 'server.cjs', options: { ...node, ...ownAddress } },
  { name: command, entry: 'server/cli/start.ts', options: { ...node, ...ownAddress, banner: { js: commandHead } } },
]

/**
 * The same program in ASCII: of any other text a Node keeps each character in two bytes. The bundler leaves only regular
 * expressions as they are, where an escape means the same.
 */
const inAscii = (text: string): string =>
  text.replace(/[\u0080-\uffff]/g, one => `\\u${one.charCodeAt(0).toString(16).padStart(4, '0')}`)

/**
 * Writes every bundle, and the notices of what they hold of others.
 * @param into the folder they go to
 * @param top the project's folder
 * @returns what each bundle holds and what it asks its host for, by its path
 * Errors: rejects with the bundler's messages, and where a library's licence is not allowed or its text is not there.
 */
export async function writeBundles(kind: BuildKind, into: string, top = root): Promise<BundleInputs> {
  const shipped = kind === 'shipped'
  const common = {
    absWorkingDir: top,
    // A file is the one that its path names, so that no bundle depends on where libraries lie.
    preserveSymlinks: true,
    alias: slimmer,
    bundle: true,
    minify: shipped,
    sourcemap: shipped ? false : 'inline',
    legalComments: 'eof',
    logLevel: 'warning',
  } as const
  const written = await buildShared(bundles, common, into)
  for (const name of Object.keys(written)) {
    const path = join(into, name)
    writeFileSync(path, inAscii(readFileSync(path, 'utf8')))
  }
  chmodSync(join(into, command), 0o755)
  const notices = noticesOf(Object.values(written).flat(), top)
  const against = objections(notices)
  if (against.length > 0) throw new Error(against.join('\n'))
  writeFileSync(join(into, noticesFile), noticesText(notices))
  return written
}

/** Writes every bundle into `dist` and prints its size. Errors: rejects with the bundler's messages. */
export async function buildBundles(kind: BuildKind): Promise<void> {
  const folder = join(root, 'dist')
  for (const name of Object.keys(await writeBundles(kind, folder))) {
    console.log(`dist/${name}  ${Math.round(statSync(join(folder, name)).size / 1000)} kB`)
  }
}

if (import.meta.main) {
  try {
    await buildBundles(process.argv.includes('--development') ? 'development' : 'shipped')
  } catch (error) {
    console.error(error instanceof Error ? error.message : error)
    process.exitCode = 1
  }
}
