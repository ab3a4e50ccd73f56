/**
 * Shows the project at work: builds it, takes a look at the example bench in the terminal, then opens the bench in an
 * editor where this machine can show one.
 */
import { spawn, spawnSync } from 'node:child_process'
import { existsSync, mkdirSync, readdirSync } from 'node:fs'
import { join, relative, resolve } from 'node:path'
import { fileURLToPath } from 'node:url'
import { writeBundles } from './build.ts'
import { pageAddress, remoteUri } from './editor/browser.ts'
import { cachedEditor } from './editor/cache.ts'
import { findChromium, findProgram } from './editor/install.ts'
import { installExtension, prepareData, startServer } from './editor/server.ts'
import { packExtension } from './package.ts'

const root = resolve(fileURLToPath(new URL('../..', import.meta.url)))
const bench = join(root, 'grammar', 'examples', 'bench')

await writeBundles('shipped', join(root, 'dist'))
const glance = spawnSync(process.execPath, ['dist/detent.cjs', 'glance', relative(root, bench)], {
  cwd: root,
  stdio: 'inherit',
  // The calls that it proposes are to work here, where nothing is installed.
  env: { ...process.env, npm_lifecycle_event: 'detent' },
})
// 1 says that there are findings, which is something to see, not a failure.
if (glance.status !== 0 && glance.status !== 1) process.exit(glance.status ?? 1)
console.log('')
await openEditor()

async function openEditor(): Promise<void> {
  const display = process.platform !== 'linux' || process.env.DISPLAY || process.env.WAYLAND_DISPLAY
  const desktop = findProgram(process.env, process.platform === 'win32' ? 'code.cmd' : 'code')
  if (display && desktop) {
    console.log('Opening the bench in VS Code.')
    const windows = process.platform === 'win32'
    spawn(desktop, [`--extensionDevelopmentPath=${root}`, bench], { stdio: 'ignore', detached: true, shell: windows })
      .on('error', error => console.error(`VS Code did not start: ${error.message}`))
      .unref()
    return
  }
  const served = cachedEditor(process.env)
  const browser = findChromium(process.env)
  if (display && served && browser) return openServed(served, browser)
  console.log(
    `To open the bench in VS Code, where there is one: code --extensionDevelopmentPath="${root}" "${bench}" (the packed extension: npm run package).`,
  )
}

/** Shows the packed extension in the editor that the tests installed, until its window is closed. */
async function openServed(served: NonNullable<ReturnType<typeof cachedEditor>>, browser: string): Promise<void> {
  const data = join(root, '.cache', 'start-editor')
  mkdirSync(data, { recursive: true })
  if (!existsSync(join(data, 'data', 'Machine', 'settings.json'))) prepareData(data)
  installExtension(served, data, await packExtension())
  const server = await startServer(served, data)
  const sandbox = process.getuid?.() === 0 ? ['--no-sandbox'] : []
  const first = readdirSync(bench).find(name => name.endsWith('.detent'))
  const open = first === undefined ? [] : [['openFile', remoteUri(server.url, join(bench, first))] as const]
  const address = pageAddress(server.url, bench, open)
  console.log(`The bench is open, in a window and at ${server.url}, until that window is closed.`)
  const window = spawn(browser, [`--app=${address}`, `--user-data-dir=${join(data, 'browser')}`, ...sandbox], {
    stdio: 'ignore',
  })
  await new Promise<void>(resolve => {
    window.once('exit', () => resolve())
    window.once('error', () => resolve())
    for (const signal of ['SIGINT', 'SIGTERM'] as const) process.once(signal, () => resolve())
  })
  window.kill()
  await server.stop()
}
