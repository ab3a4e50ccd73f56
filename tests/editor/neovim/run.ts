/**
 * The scenario of scenario.lua in Neovim 0.7, Debian's own: an editor with an old client that nobody here wrote. It is set
 * up as the README says, with the bundled command on the PATH.
 *
 * Usage: node tests/editor/neovim/run.ts (after npm run build)
 */
import { spawnSync } from 'node:child_process'
import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { delimiter, dirname, join } from 'node:path'
import { root } from '../../../client/scripts/editor/cache.ts'
import { installProgram } from '../../../client/scripts/editor/install.ts'
import { type Counts, readResultCounts, skippedCounts } from '../counts.ts'
import { bench } from '../suite/bench.ts'

const kind = 'Neovim'
const folder = join(root, 'tests', 'editor', 'neovim')

/** A scenario that has not ended by then hangs. */
const scenarioMs = 120_000

/** The README's set-up for Neovim: its first block of Lua. Errors: throws where there is none. */
function setUpOf(readme: string): string {
  const block = /```lua\n([\s\S]*?)```/.exec(readme)?.[1]
  if (block === undefined) throw new Error('the README shows no set-up for Neovim')
  return block
}

/** Runs the scenario, or says why it cannot run. */
export function runNeovim(env: NodeJS.ProcessEnv): Counts {
  const neovim = installProgram(env, 'nvim', 'neovim')
  if ('missing' in neovim) return skippedCounts(kind, folder, '.lua', neovim.missing)
  console.log('\nThe same in Neovim')
  const start = Date.now()
  const work = mkdtempSync(join(tmpdir(), 'detent-neovim-'))
  const results = join(root, 'test-output', 'editor-neovim.json')
  try {
    const [definitions, profile] = bench.split('\nprofile ') as [string, string]
    const untidy = profile.replace('    1 to 2 cores   52x', '  1 to 2 cores 52 x').replace('3 to 8', '5 to 8')
    writeFileSync(join(work, 'bench.detent'), definitions)
    writeFileSync(join(work, 'daily.detent'), `detent 1\nuse "bench.detent"\n\nprofile ${untidy}`)
    writeFileSync(join(work, 'init.lua'), setUpOf(readFileSync(join(root, 'README.md'), 'utf8')))
    const programs = join(work, 'bin')
    mkdirSync(programs)
    symlinkSync(join(root, 'dist', 'detent.cjs'), join(programs, 'detent'))
    mkdirSync(dirname(results), { recursive: true })
    rmSync(results, { force: true })
    const { status, stdout, stderr, error } = spawnSync(
      neovim.value,
      ['--headless', '-n', '-i', 'NONE', '-u', 'init.lua', '-S', join(folder, 'scenario.lua')],
      {
        cwd: work,
        encoding: 'utf8',
        timeout: scenarioMs,
        env: {
          ...env,
          PATH: [programs, dirname(process.execPath), env.PATH ?? ''].join(delimiter),
          // Nothing of the person's own set-up takes part.
          ...Object.fromEntries(
            ['CONFIG', 'DATA', 'STATE', 'CACHE'].map(area => [`XDG_${area}_HOME`, join(work, area)]),
          ),
          DETENT_RESULTS: results,
        },
      },
    )
    const ended = status === 0 ? undefined : `Neovim ended with ${error?.message ?? status}: ${stdout}${stderr}`
    if (existsSync(results)) printResults(JSON.parse(readFileSync(results, 'utf8')))
    return readResultCounts(kind, results, ended, Date.now() - start)
  } finally {
    rmSync(work, { recursive: true, force: true, maxRetries: 3 })
  }
}

function printResults(results: readonly { name: string; state: string; durationMs: number; message?: string }[]): void {
  for (const { name, state, durationMs, message } of results) {
    const mark = state === 'passed' ? '✓' : '✗'
    console.log(`  ${mark} ${name} (${durationMs.toFixed(0)} ms)${message === undefined ? '' : `\n${message}`}`)
  }
}

if (import.meta.main) {
  const counts = runNeovim(process.env)
  console.log(counts)
  process.exitCode = counts.failed > 0 ? 1 : 0
}
