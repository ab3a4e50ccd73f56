import { describe, expect, it } from 'vitest'
import type { CodeLens, Range, WorkspaceEdit } from 'vscode-languageserver/node'
import { soundBench } from '../harness/sound-bench.ts'
import { testClients } from './test-clients.ts'

/** What a run in one file shows of a part reaches the files of the part and of every profile with it, as it is typed. */

const folder = 'memory://bench/'
const at = (name: string): string => `${folder}${name}.detent`
const bench = soundBench.replace('--- bench.detent\n', '')
const profile = (name: string): string => `detent 1
use "bench.detent"

profile ${name} {
  part willow-4
  cooler pond-loop
  room loft
  steps { 1 to 4 cores 46x }
  voltage { core needs + 20 mV }
  expect weave holds >= 4.5 GHz
}
`
const stop = 'run a of daily under weave { stopped after 3 min "crash" }\n'

const started = testClients()

describe('a run that stops', () => {
  it('is found at the needs, at itself and at what another profile expects, and goes with its line', async () => {
    const files = { [at('bench')]: bench, [at('daily')]: profile('daily'), [at('other')]: profile('other') }
    const client = await started({ folders: [folder], files })
    const { open, change, diagnostics } = client
    await open(at('bench'), bench)
    await open(at('other'), profile('other'))
    await open(at('daily'), profile('daily'))
    const codes = async (name: string): Promise<unknown[]> => (await diagnostics(at(name))).map(({ code }) => code)
    expect([await codes('bench'), await codes('other'), await codes('daily')]).toEqual([[], [], []])
    const end = { line: 11, character: 0 }
    await change(at('daily'), 2, [{ range: { start: end, end }, text: stop }])
    expect(await codes('daily')).toEqual(['expect-undecided', 'needs-contradicted'])
    expect((await codes('bench')).sort()).toEqual(['needs-contradicted', 'needs-untested'])
    expect(await codes('other')).toEqual(['expect-undecided'])
    await change(at('daily'), 3, [{ range: { start: end, end: { line: 12, character: 0 } }, text: '' }])
    expect([await codes('bench'), await codes('other'), await codes('daily')]).toEqual([[], [], []])
  })
})

describe('what trials show', () => {
  const run = 'run a of daily under weave { held 1 h }\n'
  const files = { [at('bench')]: bench, [at('daily')]: profile('daily') + run }
  const start = async () => {
    const client = await started({ folders: [folder], files, initializationOptions: { showsPapers: true } })
    await client.open(at('bench'), bench)
    await client.open(at('daily'), profile('daily') + run)
    return client
  }

  it('is a paper of the part, with what to try next, and a line above its needs', async () => {
    const { request } = await start()
    const { markdown } = await request<{ markdown: string }>('detent/evidence', { uri: at('bench'), part: 'willow-4' })
    expect(markdown).toMatch(/^# Voltages of part willow-4\n/)
    expect(markdown).toMatch(/\| 46x +\| held 1 h +\| a +\||\| 46x +\| 1\.\d+ V +\| held 1 h +\| a +\|/)
    expect(markdown).toContain('## Next trial for daily')
    expect(markdown).toMatch(/```detent\nrun weave-4\dx of daily under weave \{/)
    const lenses = await request<CodeLens[]>('textDocument/codeLens', { textDocument: { uri: at('bench') } })
    expect(lenses.map(({ command }) => [command?.title, command?.command, command?.arguments])).toEqual([
      [expect.stringMatching(/^Trials: \d of 3 rows \w+/), 'detent.showEvidence', [at('bench'), 'willow-4']],
    ])
  })

  it('gives edits that add the next trial behind the runs of the file', async () => {
    const { request } = await start()
    const asked = { uri: at('daily'), profile: 'daily' }
    const { trials } = await request<{ trials: readonly ToldTrial[] }>('detent/nextTrials', asked)
    expect(trials.length).toBeGreaterThan(1)
    const [first] = trials
    expect(first?.title).toMatch(/^4\dx with 1\.\d+ V set under weave, \d0 min$/)
    expect(first?.detail).toMatch(
      /^holds \(\d+ %\): then 1\.\d{3} V ± \d+ mV; stops \(\d+ %\): then 1\.\d{3} V ± \d+ mV$/,
    )
    const [change] = first?.edit.documentChanges ?? []
    expect(JSON.stringify(change)).toMatch(/run weave-4\dx of daily under weave \{/)
    expect(first?.range.start).toEqual({ line: 13, character: 0 })
    const gone = await request<object>('detent/nextTrials', { uri: at('daily'), profile: 'weekly' })
    expect(gone).toEqual({ trouble: 'There is no profile weekly in its file any more.' })
  })
})

interface ToldTrial {
  readonly title: string
  readonly detail: string
  readonly edit: WorkspaceEdit
  readonly range: Range
}
