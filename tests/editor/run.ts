/**
 * Runs the tests that need a real editor: the suite inside the extension host, then the screen tests against the packed
 * extension, which use one server and one browser; and last the scenario of an old client in Neovim.
 *
 * Usage: node tests/editor/run.ts [--only suite|web|screen|neovim]… [--grep TEXT] [--look NAME]… [--built] [--again]
 * With --built the bundles in dist are taken as they are; with --again only what failed in the run before is tried.
 *
 * The suite runs in the served editor; in a desktop VS Code where DETENT_DESKTOP_EDITOR=1 asks for one, and wherever the
 * served one is missing. DETENT_DESKTOP_EDITOR_PATH names its program, else one is downloaded.
 * test-output/editor-summary.json holds the counts.
 */
import { spawn } from 'node:child_process'
import { once } from 'node:events'
import { cpSync, mkdirSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { parseArgs } from 'node:util'
import { runTests } from '@vscode/test-electron'
import { build } from 'esbuild'
import { browserVariable, packageVariable, startBrowser, urlVariable } from '../../client/scripts/editor/browser.ts'
import { root } from '../../client/scripts/editor/cache.ts'
import { installChromium, installEditor } from '../../client/scripts/editor/install.ts'
import { installExtension, prepareData, startServer } from '../../client/scripts/editor/server.ts'
import { packExtension } from '../../client/scripts/package.ts'
import {
  afterAgain,
  type Counts,
  readResultCounts,
  readSummary,
  readVitestCounts,
  skippedCounts,
  writeSummary,
} from './counts.ts'
import { runNeovim } from './neovim/run.ts'

const { values: options } = parseArgs({
  options: {
    only: { type: 'string', multiple: true },
    grep: { type: 'string' },
    look: { type: 'string', multiple: true },
    built: { type: 'boolean', default: false },
    again: { type: 'boolean', default: false },
  },
})

const partNames = ['suite', 'web', 'screen', 'neovim'] as const
type Part = (typeof partNames)[number]

const output = join(root, 'test-output')
/** How a part is called in the counts. */
const kinds: Readonly<Record<Part, string>> = {
  suite: 'in the editor',
  web: 'without Node',
  screen: 'screen',
  neovim: 'Neovim',
}
const before = options.again ? readSummary(output) : []
if (options.again && !before.some(({ failed }) => failed > 0)) {
  console.error('--again: no test failed in a run before, or that run wrote no summary')
  process.exit(2)
}
const failedBefore = (part: Part): Counts | undefined =>
  before.find(({ kind, failed }) => kind === kinds[part] && failed > 0)
const isNamed = (part: Part): boolean => options.only === undefined || options.only.includes(part)

/** Which parts run: those that are named, else all; of these those that failed, where it is only for them. */
const isAsked = (part: Part): boolean => isNamed(part) && (!options.again || failedBefore(part) !== undefined)
const unknownPart = options.only?.find(name => !partNames.some(part => part === name))
if (unknownPart !== undefined) {
  console.error(`--only ${unknownPart}: there is no such part; there are ${partNames.join(', ')}`)
  process.exit(2)
}

const suiteFolder = join(root, '.cache', 'editor-suite')
const suiteSources = join(root, 'tests', 'editor', 'suite')
const webFolder = join(root, '.cache', 'editor-web')
const webSources = join(root, 'tests', 'editor', 'web')
const screenSources = join(root, 'tests', 'editor', 'look')

mkdirSync(output, { recursive: true })
if (!options.again) {
  for (const name of readdirSync(output).filter(name => /^(editor-|screen|workspace-)/.test(name))) {
    rmSync(join(output, name), { recursive: true, force: true, maxRetries: 3 })
  }
}

const vsix = await packExtension(options.built)
await Promise.all([bundleSuite(), bundleWebSuite()])
const desktop = desktopEditor()
const found = [...(await runAll()), ...(isAsked('neovim') ? [runNeovim(process.env)] : [])]
const counts = options.again ? before.map(first => joined(first, found)) : found
writeSummary(output, counts)
process.exitCode = counts.some(count => count.failed > 0) ? 1 : 0

function joined(first: Counts, again: readonly Counts[]): Counts {
  const same = again.find(({ kind }) => kind === first.kind)
  return same === undefined ? first : afterAgain(first, same)
}

/** Where a part writes its results; those of a run before are not taken for them. */
function noResults(name: string): string {
  const path = join(output, name)
  rmSync(path, { force: true })
  return path
}

async function runAll(): Promise<readonly Counts[]> {
  const editor = installEditor(process.env)
  const chromium = installChromium(process.env)
  const missing = 'missing' in editor ? editor.missing : 'missing' in chromium ? chromium.missing : undefined
  if (missing !== undefined || 'missing' in editor || 'missing' in chromium) {
    const reason = missing ?? ''
    const screen = skippedCounts(kinds.screen, screenSources, '.look.ts', reason)
    const web = skippedCounts(kinds.web, webSources, '.spec.ts', reason)
    console.error(`Editor tests cannot run: ${reason}`)
    if (desktop === undefined) return [skippedCounts(kinds.suite, suiteSources, '.spec.ts', reason), web, screen]
    return [await runSuite(desktop.executable), web, screen]
  }

  const data = mkdtempSync(join(tmpdir(), 'detent-editor-'))
  prepareData(data)
  installExtension(editor.value, data, vsix)
  const [server, browser] = await Promise.all([startServer(editor.value, data), startBrowser(chromium.value)])
  process.env[urlVariable] = server.url
  process.env[browserVariable] = browser.wsEndpoint()
  process.env[packageVariable] = vsix
  try {
    const launcher = join(root, 'tests', 'editor', 'launcher.ts')
    const counts: Counts[] = []
    if (isAsked('suite')) counts.push(await runSuite(desktop === undefined ? launcher : desktop.executable))
    if (isAsked('web')) counts.push(await runWebSuite(launcher))
    if (isAsked('screen')) counts.push(await runScreenTests())
    return counts
  } finally {
    await browser.close()
    await server.stop()
    rmSync(data, { recursive: true, force: true, maxRetries: 5 })
  }
}

/**
 * A desktop editor to use; without an executable, the test library downloads one. On Linux only where one is asked for: an
 * installed one refuses to run tests while another window of it is open.
 */
function desktopEditor(): { readonly executable: string | undefined } | undefined {
  const asked = process.env.DETENT_DESKTOP_EDITOR === '1'
  return asked || process.platform !== 'linux' ? { executable: process.env.DETENT_DESKTOP_EDITOR_PATH } : undefined
}

/** Each spec file becomes one file beside the suite's entry, so that a failing line names the spec. */
async function bundleSuite(): Promise<void> {
  rmSync(suiteFolder, { recursive: true, force: true })
  const names = readdirSync(suiteSources).filter(name => name === 'index.ts' || name.endsWith('.spec.ts'))
  await build({
    entryPoints: names.map(name => join(suiteSources, name)),
    outdir: suiteFolder,
    outExtension: { '.js': '.cjs' },
    bundle: true,
    platform: 'node',
    format: 'cjs',
    target: 'node22',
    external: ['vscode', 'mocha'],
    sourcemap: 'inline',
    logLevel: 'warning',
  })
  writeFileSync(join(suiteFolder, 'options.json'), JSON.stringify({ grep: options.grep, output }))
}

/** One file, since a host without Node loads no other. */
async function bundleWebSuite(): Promise<void> {
  rmSync(webFolder, { recursive: true, force: true })
  await build({
    entryPoints: [join(webSources, 'index.ts')],
    outfile: join(webFolder, 'index.cjs'),
    bundle: true,
    platform: 'browser',
    // Not CommonJS: mocha would take the file's exports for its own.
    format: 'iife',
    globalName: 'suite',
    footer: { js: 'module.exports = suite' },
    target: 'es2023',
    external: ['vscode'],
    sourcemap: 'inline',
    logLevel: 'warning',
  })
}

/** The extension in the page's worker, in the served editor: a desktop editor has no such host for tests. */
async function runWebSuite(launcher: string): Promise<Counts> {
  const workspace = join(output, 'workspace-web')
  // The editor would choose the host with Node, since this extension runs in either.
  const settings = { 'remote.extensionKind': { 'detent.detent': ['web'] } }
  // A second try does not find the files of the first.
  rmSync(workspace, { recursive: true, force: true, maxRetries: 3 })
  mkdirSync(join(workspace, '.vscode'), { recursive: true })
  writeFileSync(join(workspace, '.vscode', 'settings.json'), JSON.stringify(settings))
  console.log('\nTests in a host without Node')
  const start = Date.now()
  const results = noResults('editor-web.json')
  let ended: string | undefined
  try {
    await runTests({
      vscodeExecutablePath: launcher,
      reuseMachineInstall: true,
      extensionDevelopmentPath: root,
      extensionTestsPath: join(webFolder, 'index.cjs'),
      launchArgs: [workspace, `--results=${results}`],
    })
  } catch (error) {
    ended = error instanceof Error ? error.message : String(error)
  }
  return readResultCounts(kinds.web, results, ended, Date.now() - start)
}

async function runSuite(executable: string | undefined): Promise<Counts> {
  const workspace = join(output, 'workspace-suite')
  rmSync(workspace, { recursive: true, force: true, maxRetries: 3 })
  cpSync(join(root, 'tests', 'editor', 'fixture'), workspace, { recursive: true })
  console.log('\nTests inside the editor')
  const start = Date.now()
  const results = noResults('editor-results.json')
  let ended: string | undefined
  try {
    await runTests({
      ...(executable !== undefined && { vscodeExecutablePath: executable, reuseMachineInstall: true }),
      extensionDevelopmentPath: root,
      extensionTestsPath: join(suiteFolder, 'index.cjs'),
      launchArgs: [workspace],
    })
  } catch (error) {
    ended = error instanceof Error ? error.message : String(error)
  }
  return readResultCounts(kinds.suite, results, ended, Date.now() - start)
}

/** Not a blocking call: this process passes on what the tests and the browser say to each other. */
async function runScreenTests(): Promise<Counts> {
  console.log('\nTests of what a person sees')
  const start = Date.now()
  const results = noResults('screen-results.json')
  const vitest = join(root, 'node_modules', 'vitest', 'vitest.mjs')
  const failures = failedBefore('screen')?.failures ?? []
  const filters = [
    ...new Set(failures.flatMap(({ file }) => file ?? [])),
    ...failures.slice(0, 1).flatMap(() => ['--testNamePattern', patternOf(failures.map(({ name }) => name))]),
  ]
  const child = spawn(
    process.execPath,
    [
      ...[vitest, 'run', '--config', join(screenSources, 'vitest.config.ts')],
      ...['--reporter=default', '--reporter=json', `--outputFile.json=${results}`],
      ...(options.look ?? []),
      ...filters,
    ],
    { cwd: root, stdio: ['ignore', 'inherit', 'inherit'] },
  )
  const [status] = (await once(child, 'exit')) as [number | null]
  return readVitestCounts(kinds.screen, results, status, Date.now() - start)
}

/** For vitest: matches these names of tests, or of files whose tests never began. */
function patternOf(names: readonly string[]): string {
  const exact = names.map(name => name.replaceAll(/[.*+?^${}()|[\]\\]/g, '\\$&'))
  return names.some(name => name.endsWith('.look.ts')) ? '' : `^ ?(${exact.join('|')})$`
}
