import { describe, expect, it, vi } from 'vitest'
import { createFurther } from '../../server/lsp/further.ts'
import { inTurns } from '../../server/lsp/log-reading.ts'
import { makeAll } from '../../server/lsp/shadow.ts'
import { createSlices, heard, type Rank, sliceMs, turn } from '../../server/lsp/turns.ts'
import { createService, type Service } from '../../server/service.ts'
import { memoryFiles } from '../harness/file-systems.ts'
import { benchText, profileText } from '../speed/texts.ts'

/** The order in which those come to their turn who ask for it in this order. */
async function served(asked: readonly Rank[]): Promise<readonly Rank[]> {
  const order: Rank[] = []
  await Promise.all(asked.map(rank => turn(rank).then(() => order.push(rank))))
  return order
}

function busy(ms: number): void {
  for (const from = performance.now(); performance.now() - from < ms; ) Math.sqrt(from)
}

/** How many turns are taken while no time passes: whatever takes one has not asked whether its slice is over. */
async function turnsIn(work: () => Promise<unknown>): Promise<number> {
  const breaths = vi.spyOn(globalThis, 'setImmediate')
  vi.spyOn(performance, 'now').mockReturnValue(0)
  try {
    await work()
    return breaths.mock.calls.length
  } finally {
    vi.restoreAllMocks()
  }
}

describe('turns', () => {
  it('go to the highest rank that waits, and within a rank to the first', async () => {
    expect(await served(['folders', 'shown', 'findings', 'asked', 'caret', 'shown'])).toEqual([
      'caret',
      'findings',
      'shown',
      'shown',
      'asked',
      'folders',
    ])
    const order: string[] = []
    await Promise.all(['first', 'second', 'third'].map(name => turn('shown').then(() => order.push(name))))
    expect(order).toEqual(['first', 'second', 'third'])
  })

  it('let one in between that asks while a lower rank is at work', async () => {
    const order: string[] = []
    const slices = createSlices('folders', 0)
    const work = async (): Promise<void> => {
      for (let part = 1; part <= 3; part++) {
        order.push(`folder ${part}`)
        if (part === 1) void turn('findings').then(() => order.push('findings'))
        await slices.rest()
      }
    }
    await work()
    expect(order).toEqual(['folder 1', 'findings', 'folder 2', 'folder 3'])
  })

  it('begin once all messages that wait are heard, one after the other', async () => {
    let left = 5
    const order: string[] = []
    const hear = (): void => {
      heard()
      order.push('message')
      if (--left > 0) setImmediate(hear)
    }
    setImmediate(hear)
    // The one that asks for a turn came by a message as well.
    heard()
    await turn('caret')
    order.push('turn')
    expect(order).toEqual([...Array<string>(5).fill('message'), 'turn'])
  })

  it('are asked for once a slice is over, and not before', async () => {
    const slices = createSlices('shown')
    let others = 0
    void turn('folders').then(() => others++)
    await slices.rest()
    expect(others).toBe(0)
    busy(sliceMs + 1)
    await slices.rest()
    await turn('folders')
    expect(others).toBe(1)
  })

  it('are taken once a slice by what is laid over a bench', async () => {
    const uri = 'memory://turns/bench.detent'
    const loaded = async (): Promise<Service> => {
      const service = createService(memoryFiles({ [uri]: benchText + profileText(0) }))
      await service.workspace.load([uri])
      return service
    }
    const service = await loaded()
    expect(await turnsIn(() => makeAll(service, [uri], () => false))).toBe(0)
    expect(service.evaluations(uri)[0]?.predictions.length).toBeGreaterThan(1)
    const steps = (await loaded()).prepareFindings(uri)
    expect([...steps].length).toBeGreaterThan(20)
  })

  it('are taken once a slice by logs, however many pieces they come in', async () => {
    async function* chunks(): AsyncIterable<Uint8Array> {
      for (let count = 0; count < 40; count++) yield new Uint8Array(100_000)
    }
    const log = await inTurns({ open: async () => ({ size: 4_000_000, chunks }) }).open('a.csv')
    let [pieces, bytes] = [0, 0]
    const read = async (): Promise<void> => {
      for await (const piece of log?.chunks() ?? []) [pieces, bytes] = [pieces + 1, bytes + piece.length]
    }
    expect(await turnsIn(read)).toBe(0)
    expect([pieces, bytes]).toEqual([160, 4_000_000])
  })

  it('are waited for by what nobody sees before any of it is made', async () => {
    const order: string[] = []
    const made = new Promise<string>(resolve => {
      const further = createFurther(
        async () => order.push('rest') > 0,
        resolve,
        error => resolve(String(error)),
      )
      further.wake('a.detent')
      order.push('answer')
      void turn('findings').then(() => order.push('findings'))
    })
    expect(await made).toBe('a.detent')
    expect(order).toEqual(['answer', 'findings', 'rest'])
  })
})
