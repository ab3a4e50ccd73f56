import { describe, expect, it } from 'vitest'
import { bench, dailyText } from '../features/bench.ts'
import { eventually, modernCapabilities, oldCapabilities } from '../harness/client.ts'
import { testClients } from './test-clients.ts'

/** Expectations that are to hold for a time: their runs are made while nobody waits. */

const folder = 'memory://bench/'
const uri = `${folder}all.detent`
const text = `${bench}
${dailyText(['expect render holds >= 5.9 GHz for 3 min'], ['1 to 12 cores  40x'])}`

const started = testClients()

describe('a run over time', () => {
  it('is made after the first answer, and an editor that asks is asked to ask again', async () => {
    const client = await started({ capabilities: modernCapabilities, folders: [folder], files: {} })
    const { open, diagnostics, refreshes } = client
    await open(uri, text)
    const codes = async (): Promise<unknown[]> => (await diagnostics(uri)).map(({ code }) => code)
    expect(await codes()).not.toContain('expect-failed')
    // Opening itself may bring a refresh before the run is made; it asks again at each, and at nothing else.
    let asked = 0
    const verdict = async (): Promise<boolean> => {
      asked = refreshes()
      return (await codes()).includes('expect-failed')
    }
    while (!(await verdict())) await eventually('a refresh', () => (refreshes() > asked ? true : undefined))
    expect(asked).toBeGreaterThan(0)
  })

  it('reaches an editor that is sent findings', async () => {
    const client = await started({ capabilities: oldCapabilities, folders: [folder], files: {} })
    const one = client
    await one.open(uri, text)
    const codes = (): readonly unknown[] | undefined => one.published.get(uri)?.diagnostics.map(({ code }) => code)
    await eventually('first findings', () => (codes() === undefined ? undefined : true))
    await eventually('the verdict', () => (codes()?.includes('expect-failed') ? true : undefined))
    // A newer text drops what was asked for the older one.
    await one.change(uri, 2, [{ text: text.replace('5.9 GHz', '3.9 GHz') }])
    await eventually('the finding to go', () => (codes()?.includes('expect-failed') ? undefined : true))
  })
})
