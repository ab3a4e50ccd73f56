/**
 * Installs what the editor tests need and the machine lacks: the served editor (an npm package) and Chromium (Debian's
 * package, if the run may install one).
 */
import { spawnSync } from 'node:child_process'
import { existsSync, mkdirSync, mkdtempSync, renameSync, rmSync, writeFileSync } from 'node:fs'
import { delimiter, dirname, join } from 'node:path'
import { chromium } from 'playwright-core'
import type { ServedEditor } from './cache.ts'
import { cachedEditor, editorCache, editorFolder, editorIn, editorPackage, nodePackageName } from './cache.ts'

/** What a step gave, or one line that says what to do about it. */
export type Installed<T> = { readonly value: T } | { readonly missing: string }

const chromiumNames = ['chromium', 'chromium-browser', 'google-chrome', 'google-chrome-stable']

/** The served editor from the cache, installing it first if need be (some 600 MB, about a minute). */
export function installEditor(env: NodeJS.ProcessEnv): Installed<ServedEditor> {
  const present = cachedEditor(env)
  if (present) return { value: present }
  if (process.platform !== 'linux') return { missing: 'the served editor is set up on Linux only: install VS Code' }
  const tools = buildTools()
  if (tools) return { missing: tools }

  const folder = editorFolder(env)
  console.log(`Installing ${editorPackage()} into ${folder} …`)
  mkdirSync(editorCache(env), { recursive: true })
  // Built under another name and moved when complete, so that two runs at once and a broken run do no harm.
  const draft = mkdtempSync(join(editorCache(env), 'draft-'))
  try {
    const product = join(draft, 'node_modules', 'code-server', 'lib', 'vscode')
    const nodePackage = join(draft, 'node_modules', nodePackageName())
    const nodeVersion = process.versions.node
    writeFileSync(join(draft, 'package.json'), '{ "private": true }\n')
    const failed =
      npm(draft, env, ['install', '--ignore-scripts', editorPackage(), `${nodePackageName()}@${nodeVersion}`]) ??
      npm(product, env, ['install', '--omit=dev', '--ignore-scripts']) ??
      npm(product, { ...env, npm_config_nodedir: nodePackage }, [
        'rebuild',
        '@vscode/spdlog',
        '@vscode/native-watchdog',
      ])
    if (failed) return { missing: `the served editor could not be installed: ${failed}` }
    writeFileSync(join(draft, '.complete'), '')
    if (cachedEditor(env) === undefined) {
      rmSync(folder, { recursive: true, force: true })
      renameSync(draft, folder)
    }
    return { value: editorIn(folder) }
  } finally {
    rmSync(draft, { recursive: true, force: true })
  }
}

/** The path of a Chromium, installing Debian's package where the run is root's and apt-get is there. */
export function installChromium(env: NodeJS.ProcessEnv): Installed<string> {
  const present = findChromium(env)
  if (present) return { value: present }
  if (canInstallPackages(env)) {
    installPackages(['chromium', 'fonts-dejavu-core'])
    const installed = findChromium(env)
    if (installed) return { value: installed }
  }
  return { missing: 'no Chromium: install it (Debian: apt-get install chromium) or set CHROMIUM_PATH' }
}

/** The path of a program, installing its Debian package where the run is root's and apt-get is there. */
export function installProgram(env: NodeJS.ProcessEnv, program: string, debianPackage: string): Installed<string> {
  const present = findProgram(env, program)
  if (present) return { value: present }
  if (canInstallPackages(env)) {
    installPackages([debianPackage])
    const installed = findProgram(env, program)
    if (installed) return { value: installed }
  }
  return { missing: `no ${program}: install it (Debian: apt-get install ${debianPackage})` }
}

export function findChromium(env: NodeJS.ProcessEnv): string | undefined {
  const named = env.CHROMIUM_PATH
  if (named && existsSync(named)) return named
  const onPath = chromiumNames.map(name => findProgram(env, name)).find(path => path !== undefined)
  if (onPath) return onPath
  const bundled = chromium.executablePath()
  return bundled && existsSync(bundled) ? bundled : undefined
}

/** The full path of a program on PATH. */
export function findProgram(env: NodeJS.ProcessEnv, name: string): string | undefined {
  const folders = (env.PATH ?? '').split(delimiter).filter(folder => folder !== '')
  return folders.map(folder => join(folder, name)).find(path => existsSync(path))
}

function buildTools(): string | undefined {
  const missing = ['python3', 'make', 'g++'].filter(name => findProgram(process.env, name) === undefined)
  if (missing.length === 0) return undefined
  if (canInstallPackages(process.env)) {
    installPackages(['python3', 'make', 'g++'])
    return missing.every(name => findProgram(process.env, name) !== undefined)
      ? undefined
      : `${missing.join(', ')} could not be installed with apt-get`
  }
  return `${missing.join(', ')} missing: install them (Debian: apt-get install python3 make g++)`
}

function canInstallPackages(env: NodeJS.ProcessEnv): boolean {
  return process.getuid?.() === 0 && findProgram(env, 'apt-get') !== undefined
}

function installPackages(names: readonly string[]): void {
  console.log(`Installing ${names.join(', ')} with apt-get …`)
  const env = { ...process.env, DEBIAN_FRONTEND: 'noninteractive' }
  const quiet = { env, stdio: ['ignore', 'ignore', 'inherit'] as ['ignore', 'ignore', 'inherit'] }
  spawnSync('apt-get', ['-qq', 'update'], quiet)
  spawnSync('apt-get', ['-qq', '-y', '--no-install-recommends', 'install', ...names], quiet)
}

/** Runs npm and gives the last lines of its output if it failed. */
function npm(folder: string, env: NodeJS.ProcessEnv, args: readonly string[]): string | undefined {
  const path = dirname(process.execPath) + delimiter + (env.PATH ?? '')
  const result = spawnSync('npm', [...args, '--no-audit', '--no-fund', '--loglevel=error'], {
    cwd: folder,
    env: { ...env, PATH: path },
    encoding: 'utf8',
    stdio: ['ignore', 'pipe', 'pipe'],
  })
  if (result.status === 0) return undefined
  const lines = `${result.stdout}\n${result.stderr}${result.error?.message ?? ''}`.trim().split('\n')
  return `npm ${args[0]}: ${lines.slice(-4).join(' | ')}`
}
