import { describe, expect, it } from 'vitest'
import { createSlices, heard, type Rank, sliceMs, turn } from '../../server/lsp/turns.ts'

/** The order in which those come to their turn who ask for it in this order. */
async function served(asked: readonly Rank[]): Promise<readonly Rank[]> {
  const order: Rank[] = []
  await Promise.all(asked.map(rank => turn(rank).then(() => order.push(rank))))
  return order
}

function busy(ms: number): void {
  for (const from = performance.now(); performance.now() - from < ms; ) Math.sqrt(from)
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
})
