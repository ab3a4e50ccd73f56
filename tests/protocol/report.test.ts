import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { CancellationTokenSource } from 'vscode-languageserver/node'
import { uriOfPath } from '../../server/workspace/node-files.ts'
import { detent } from '../cli/helpers.ts'
import { bench } from '../features/bench.ts'
import type { TestClient } from '../harness/client.ts'
import { temporaryFolder } from '../harness/process.ts'
import { root } from '../harness/sources.ts'
import { testClients } from './test-clients.ts'

interface Report {
  readonly markdown: string
  readonly html: string
  readonly trouble?: string
}

const folder = join(root, 'grammar/examples/bench')
const read = (name: string): string => readFileSync(join(folder, name), 'utf8')

/** Two profiles of the example bench, a run with its log and one by hand: all that a report is made of, in a tenth of the time. */
const names = ['bench.detent', 'light-work.detent', 'heavy-work.detent']
const logs = ['logs/light-compile.csv']
const runNames = ['light-compile', 'light-by-hand']
const runs = read('runs.detent')
  .split(/^(?=run )/m)
  .filter(text => runNames.some(name => text.startsWith(`run ${name} `)))
const twoRuns = {
  ...Object.fromEntries([...names, ...logs].map(name => [name, read(name)])),
  'runs.detent': ['detent 1', 'use "light-work.detent"', 'use "heavy-work.detent"', '', ...runs].join('\n'),
}

const started = testClients()

async function start(place = uriOfPath(folder), files?: Record<string, string>): Promise<TestClient> {
  return started({ folders: [place], ...(files === undefined ? {} : { files }) })
}

describe('the report of a bench', () => {
  it('is the page, and the Markdown, that the command writes', async () => {
    using files = temporaryFolder(twoRuns)
    const { request } = await start(uriOfPath(files.path))
    const asked = { profiles: ['light-work', 'heavy-work'], baseline: 'light-work' }
    const { html, markdown } = await request<Report>('detent/report', asked)
    const command = ['report', '--profile', 'light-work', '--profile', 'heavy-work', '--baseline', 'light-work']
    const printed = async (...args: readonly string[]): Promise<string> =>
      (await detent(files.path, [...command, ...args])).out
    expect(html).toBe(await printed())
    // In the editor's column a figure stays with its unit.
    expect(markdown.replaceAll('\u00a0', ' ')).toBe(await printed('--output', 'markdown'))
    for (const name of runNames) expect(markdown).toContain(name)
    expect(html.match(/<svg class="detent-chart"/g)?.length).toBeGreaterThan(4)
  })

  it('lets other requests through while it is made, and can be taken back', async () => {
    const { connection, request } = await start()
    const source = new CancellationTokenSource()
    const order: string[] = []
    const report = connection.sendRequest('detent/report', { profiles: [] }, source.token).then(
      () => order.push('report'),
      (error: { code?: number }) => order.push(`error ${error.code}`),
    )
    const uri = uriOfPath(join(folder, 'light-work.detent'))
    for (let round = 0; round < 3; round++) {
      await request('textDocument/foldingRange', { textDocument: { uri } })
      order.push('folding')
    }
    source.cancel()
    await report
    // -32800 is the protocol's own number for a request that was cancelled.
    expect(order).toEqual(['folding', 'folding', 'folding', 'error -32800'])
  })

  it('says what it lacks', async () => {
    const uri = 'memory://bench/bench.detent'
    const { request } = await start('memory://bench/', { [uri]: bench })
    const trouble = async (asked: unknown) => (await request<Report>('detent/report', asked)).trouble
    expect(await trouble({})).toBe('There is no profile to report on.')
    expect(await trouble({ profiles: ['noon'] })).toBe('There is no profile noon any more.')
    expect(await trouble({ baseline: 'noon' })).toBe('There is no profile noon any more.')
  })
})
