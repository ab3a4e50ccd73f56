/**
 * The first thing `npm start` and `npm test` run. It must work in a fresh clone, where nothing is installed yet: plain
 * JavaScript for Node 20, no dependency. It installs the packages when they are missing or differ from the lock file,
 * then hands over to a script run by the Node that comes with the packages.
 *
 * Usage: node client/scripts/bootstrap.mjs SCRIPT [argument …]
 */
import { spawnSync } from 'node:child_process'
import { existsSync, readFileSync } from 'node:fs'
import { delimiter, dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'

const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..')
const modules = join(root, 'node_modules')
const bin = join(modules, '.bin')
const windows = process.platform === 'win32'

/** The PATH without any `node_modules/.bin`: while packages are replaced, the programs in there come and go. */
function systemPath() {
  return (process.env.PATH ?? '')
    .split(delimiter)
    .filter(folder => !folder.includes('node_modules'))
    .join(delimiter)
}

function fail(line) {
  console.error(line)
  process.exit(1)
}

function readLock(path) {
  try {
    return JSON.parse(readFileSync(path, 'utf8')).packages ?? {}
  } catch {
    return undefined
  }
}

/** True when every package the lock file asks for on this machine is there in that very version. */
function installed() {
  const wanted = readLock(join(root, 'package-lock.json'))
  const present = readLock(join(modules, '.package-lock.json'))
  if (wanted === undefined) fail('package-lock.json is missing or damaged: restore it from the repository.')
  if (present === undefined) return false
  for (const [path, entry] of Object.entries(wanted)) {
    if (path === '' || entry.optional || entry.devOptional || entry.peer) continue
    if (present[path]?.version !== entry.version) return false
  }
  return toolNode() !== undefined
}

/** The Node that the packages bring, if it runs and is new enough for type stripping and the parser library. */
function toolNode() {
  const program = join(bin, windows ? 'node.cmd' : 'node')
  if (!existsSync(program)) return undefined
  const result = spawnSync(program, ['-p', 'process.versions.node'], { encoding: 'utf8', shell: windows })
  return Number.parseInt(result.stdout ?? '', 10) >= 24 ? program : undefined
}

function npm(args) {
  const env = { ...process.env, PATH: systemPath() }
  const result = spawnSync(windows ? 'npm.cmd' : 'npm', args, { cwd: root, env, stdio: 'inherit', shell: windows })
  if (result.error) fail(`npm could not be started (${result.error.message}): install Node 20 or later with npm.`)
  return result.status === 0
}

const major = Number.parseInt(process.versions.node, 10)
if (major < 20) fail(`Node ${process.versions.node} is too old: install Node 20 or later.`)

const [script, ...args] = process.argv.slice(2)
if (script === undefined) fail('usage: node client/scripts/bootstrap.mjs SCRIPT [argument …]')

if (!installed()) {
  // At this level npm does not warn that Node 20 is too old for packages that only ever run in the newer one.
  console.log('Installing the packages named in package-lock.json …')
  if (!npm(['ci', '--no-audit', '--no-fund', '--loglevel=error']))
    fail('The packages could not be installed: see the lines above.')
  if (toolNode() === undefined) npm(['rebuild', 'node', 'esbuild'])
  if (toolNode() === undefined)
    fail('Node 24 from the npm package "node" is not usable here: install Node 24 yourself.')
}

const run = spawnSync(toolNode(), [join(root, script), ...args], {
  cwd: root,
  env: { ...process.env, PATH: bin + delimiter + (process.env.PATH ?? '') },
  stdio: 'inherit',
  shell: windows,
})
process.exit(run.status ?? 1)
