import { readFileSync } from 'node:fs'
import { fileURLToPath } from 'node:url'
import { describe, expect, it } from 'vitest'
import { fitPart } from '../../server/features/fit/index.ts'
import { createService } from '../../server/service.ts'
import { nodeFiles, uriOfPath } from '../../server/workspace/node-files.ts'
import { nodeLogs } from '../harness/file-systems.ts'

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
