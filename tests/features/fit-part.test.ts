import { readFileSync } from 'node:fs'
import { fileURLToPath } from 'node:url'
import { describe, expect, it } from 'vitest'
import { fitPart } from '../../server/features/fit/index.ts'
import { createService } from '../../server/service.ts'
import { nodeFiles, uriOfPath } from '../../server/workspace/node-files.ts'
import { benchText } from '../cli/helpers.ts'
import { memoryFiles, nodeLogs } from '../harness/file-systems.ts'

/** A fit that is made between other work, on the example bench. */

const folder = fileURLToPath(new URL('../../grammar/examples/bench/', import.meta.url))
const benchPath = `${folder}bench.detent`
const uri = uriOfPath(benchPath)

/** Fits, and calls on the way whenever other work may come between. @returns the fit, its pauses and what it said of its steps */
async function fitted(between: (pauses: number, service: ReturnType<typeof createService>) => void) {
  const service = createService(nodeFiles, { logs: nodeLogs })
  await service.workspace.load([uriOfPath(`${folder}runs.detent`)])
  let pauses = 0
  const told: string[] = []
  const fit = await fitPart(service.workspace, service.bench, uri, 'sample-b7', {
    revisions: undefined,
    rest: async () => between(++pauses, service),
    tell: (done, of) => told.push(`${done} of ${of}`),
  })
  return { fit, pauses, told }
}

describe('a fit in slices', () => {
  it('lets other work in thousands of times, and tells how far it is', async () => {
    const { fit, pauses, told } = await fitted(() => undefined)
    expect(fit?.used).toHaveLength(10)
    expect(pauses).toBeGreaterThan(10_000)
    expect(told).toEqual(['0 of 5', '1 of 5', '2 of 5', '3 of 5', '4 of 5'])
  })

  it('ends once a text that it rests on has changed', async () => {
    const text = readFileSync(benchPath, 'utf8')
    const { fit, pauses } = await fitted((count, { workspace }) => {
      if (count === 1000) workspace.set(uri, `${text}# now\n`, 2)
    })
    expect(fit).toBeUndefined()
    expect(pauses).toBe(1000)
  })

  it('ends where whoever waits for it wants it no more', async () => {
    const reason = new Error('taken back')
    const asked = fitted(count => {
      if (count === 500) throw reason
      if (count > 500) throw new Error('it went on')
    })
    await expect(asked).rejects.toBe(reason)
  })
})

describe('a fit of the editor and one of the command', () => {
  const known = '  known { 4.60 GHz 1.140 V 95 W 52 °C air 20 °C fan 100 % }\n'
  const [head = '', profile = ''] = benchText().split(/^(?=profile )/m)
  const measured = 'measured { clock 4.600 GHz; voltage 1.140 V; power 94.9 W; die 51.8 °C; coolant 24 °C }'
  const run = `run once of daily under work { air 20 °C; humidity 40 %; ${measured} }\n`
  const at = (name: string): string => `file:///bench/${name}.detent`
  /** A bench in three files; the command is asked for the last, the editor for the first. */
  const fits = async (runs: string, other: string) => {
    const service = createService(
      memoryFiles({
        [at('bench')]: `${head.replace('part sample {\n', `part sample {\n${known}`)}
cooler pool kind loop { block-resistance 0.03 K/W; radiator { 100 % 0.05 K/W } }\n`,
        [at('profiles')]: `detent 1\nuse "bench.detent"\n\n${profile}${other}`,
        [at('runs')]: `detent 1\nuse "profiles.detent"\n\n${runs}`,
      }),
    )
    await service.workspace.load([at('runs')])
    const options = { revisions: undefined, rest: async () => undefined, tell: () => undefined }
    const ofEditor = await fitPart(service.workspace, service.bench, at('bench'), 'sample', options)
    const ofCommand = service.bench.fit(at('runs'), 'sample', service.bench.seen(at('runs')))
    return [ofEditor, ofCommand] as const
  }
  const otherProfile = 'profile wet based-on daily { cooler pool }\n'

  it.each([
    ['a run, and a profile whose cooler has none', run, otherProfile, ['tower']],
    ['known points alone, under the only cooler', '', '', ['tower']],
    ['known points alone, and two coolers', '', otherProfile, ['pool', 'tower']],
  ])('give the same figures: %s', async (_, runs, other, coolers) => {
    const [ofEditor, ofCommand] = await fits(runs, other)
    expect([...(ofEditor?.coolers.keys() ?? [])]).toEqual(coolers)
    expect([...(ofCommand?.coolers.keys() ?? [])]).toEqual(coolers)
    const figures = ({ result }: NonNullable<typeof ofEditor>) => 'constants' in result && result.constants
    expect(figures(ofEditor!)).not.toHaveLength(0)
    expect(figures(ofEditor!)).toEqual(figures(ofCommand!))
  })
})
