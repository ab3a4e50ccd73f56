/**
 * Bundles what is shipped: the extension client and the command, which is also the language server.
 *
 * Usage: node client/build.ts [--development]
 */
import { chmodSync, statSync } from 'node:fs'
import { fileURLToPath } from 'node:url'
import { type BuildOptions, build } from 'esbuild'

export type BuildKind = 'shipped' | 'development'

const root = fileURLToPath(new URL('..', import.meta.url))

const node: BuildOptions = { platform: 'node', format: 'cjs', target: 'node22' }

/** The command's bundle, whatever the client needs of the project beside its own. */
const command = 'dist/detent.cjs'

/**
 * What stands before the command's code: it says plainly that an old Node will not do, before the parser library fails on
 * one; and a CommonJS bundle has no import.meta, which sources use to find files beside themselves.
 */
const commandHead = `#!/usr/bin/env node
if (Number.parseInt(process.versions.node, 10) < 22) {
  console.error('detent needs Node 22 or later; this is ' + process.version + '.');
  process.exit(2);
}
const importMetaUrl = require('node:url').pathToFileURL(__filename).href;`

/** One row a bundle. A host without Node (the editor in a browser) gets rows of its own. */
const bundles: Readonly<Record<string, BuildOptions>> = {
  'dist/client.cjs': { ...node, entryPoints: ['client/extension.ts'], external: ['vscode'] },
  [command]: {
    ...node,
    entryPoints: ['server/cli/main.ts'],
    banner: { js: commandHead },
    define: { 'import.meta.url': 'importMetaUrl' },
  },
}

/** Writes every bundle and prints its size. Errors: rejects with the bundler's messages. */
export async function buildBundles(kind: BuildKind): Promise<void> {
  const shipped = kind === 'shipped'
  const common: BuildOptions = {
    absWorkingDir: root,
    bundle: true,
    minify: shipped,
    sourcemap: shipped ? false : 'inline',
    legalComments: 'eof',
    logLevel: 'warning',
  }
  await Promise.all(Object.entries(bundles).map(([outfile, options]) => build({ ...common, outfile, ...options })))
  chmodSync(root + command, 0o755)
  for (const outfile of Object.keys(bundles)) {
    console.log(`${outfile}  ${Math.round(statSync(root + outfile).size / 1000)} kB`)
  }
}

if (import.meta.main) {
  await buildBundles(process.argv.includes('--development') ? 'development' : 'shipped')
}
