import { cpSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { noticeText } from '../../../server/features/views/growing.ts'
import {
  type ComparedRun,
  createService,
  drawnRun,
  type Picture,
  type ShownView,
  subjectAt,
  viewInSlices,
} from '../../../server/service.ts'
import { nodeFiles, uriOfPath } from '../../../server/workspace/node-files.ts'
import { nodeLogs } from '../../harness/file-systems.ts'
import { type TemporaryFolder, temporaryFolder } from '../../harness/process.ts'

const bench = fileURLToPath(new URL('../../../grammar/examples/bench/', import.meta.url))
const size = { width: 700, height: 600 }

let folder: TemporaryFolder
let rows: readonly string[]

beforeAll(() => {
  folder = temporaryFolder({})
  cpSync(bench, folder.path, { recursive: true })
  rows = readFileSync(join(folder.path, 'logs', 'light-compile.csv'), 'utf8').split(/\r?\n/)
})
afterAll(() => folder[Symbol.dispose]())

interface Grown {
  readonly run: ComparedRun
  readonly picture: Picture | undefined
  readonly shown: ShownView | { readonly waits: string }
}

/** The run with so many rows of its log. */
async function grown(count: number): Promise<Grown> {
  writeFileSync(join(folder.path, 'logs', 'light-compile.csv'), `${rows.slice(0, 1 + count).join('\n')}\n`)
  const service = createService(nodeFiles, { logs: nodeLogs })
  const uri = uriOfPath(join(folder.path, 'runs.detent'))
  await service.workspace.load([uri])
  await service.bench.loadLogs(uri)
  const run = service.bench.compared(uri).find(({ record }) => record.name === 'light-compile')
  const text = service.workspace.document(uri)?.source.text ?? ''
  const subject = subjectAt(service.workspace, service.bench, uri, text.indexOf('run light-compile') + 5)
  if (run === undefined || subject === undefined) throw new Error('no run')
  const making = viewInSlices(service.workspace, service.bench, uri, subject, { size })
  let step = making.next()
  while (step.done !== true) step = making.next()
  return { run, picture: drawnRun(service.workspace, run, size), shown: step.value }
}

const words = ({ picture }: Grown): string => picture?.labels.map(({ text }) => text).join(' ') ?? ''

describe('a log that grows', () => {
  it('has too few rows at first, says where it settles on the way, and what counts at the end', async () => {
    expect((await grown(1)).shown).toEqual({ waits: 'The log does not have enough rows yet.' })
    const half = await grown(126)
    expect(words(half)).toMatch(/Not steady yet: settles at \d+ ± \d+ °C in about \d+ (?:min|s)\./)
    expect('notice' in half.shown && half.shown.notice).toMatch(/It settles at \d+ ± \d+ °C in about/)
    const whole = await grown(rows.length - 1)
    expect(words(whole)).toContain('these rows count')
    expect(words(whole)).toMatch(/Die measured (?:67\.9|68\.0) °C/)
    expect(('notice' in whole.shown && whole.shown.notice) || '').not.toMatch(/settles/)
  }, 60_000)

  it('has a calm notice where the die leaves its prediction or nears its limit, and none where all is as predicted', async () => {
    const { run } = await grown(400)
    const at = (dieC: number) => [0, 1, 2, 3, 4].map(time => ({ at: time, value: dieC }))
    // The profile's die limit is 92 °C.
    expect(noticeText(run, at(90.5), () => 90)).toBe('Die 90.5 °C, 1.5 K below its limit.')
    expect(noticeText(run, at(93), () => 90)).toBe('Die 93.0 °C, at its limit.')
    expect(noticeText(run, at(80), () => 60)).toMatch(
      /^Die 80\.0 °C, 20\.0 K above what is predicted, which is good to ± \d+\.\d K\.$/,
    )
    expect(noticeText(run, at(40), () => 60)).toMatch(/^Die 40\.0 °C, 20\.0 K below what is predicted/)
    expect(noticeText(run, at(60.2), () => 60)).toBeUndefined()
    expect(noticeText(run, [], () => 60)).toBeUndefined()
  })
})
