import { describe, expect, it } from 'vitest'
import { envelopeOf } from '../../server/semantic/envelope.ts'
import type { Evaluation } from '../../server/semantic/evaluate.ts'
import { createService } from '../../server/service.ts'
import { memoryFiles } from '../harness/file-systems.ts'
import { benchText, profileText } from '../speed/texts.ts'

const uri = 'file:///bench/shared.detent'

/** Two profiles of one text, whose second is changed. */
async function both(change: (second: string) => string, head = benchText): Promise<readonly Evaluation[]> {
  const second = profileText(0).replace('bench-run-0', 'other')
  const service = createService(memoryFiles({ [uri]: `${head}${profileText(0)}${change(second)}` }))
  await service.workspace.load([uri])
  const evaluations = service.evaluations(uri)
  expect(evaluations).toHaveLength(2)
  return evaluations
}

describe('profiles that come to the same numbers', () => {
  it('are predicted once: one bench, one set of predictions, one envelope', async () => {
    const [one, other] = await both(text => text.replace('pair holds >= 5.0 GHz', 'pair holds >= 4.9 GHz'))
    expect(one?.input.bench).toBeDefined()
    expect(other?.input.bench).toBe(one?.input.bench)
    expect(other?.predictions).toBe(one?.predictions)
    expect(other && envelopeOf(other)).toBe(one && envelopeOf(one))
    // What names the profile stays its own.
    expect(other?.profile.definition.name).toBe('other')
  })

  it.each([
    ['a step', '5 to 12 cores  46x', '5 to 12 cores  45x'],
    ['an offset', 'needs + 20 mV', 'needs + 21 mV'],
    ['a limit', 'die 92 °C', 'die 91 °C'],
    ['a fan point', '34 °C   55 %', '34 °C   56 %'],
    ['the cooler', 'cooler still-plate', 'cooler still-pond'],
    ['a default that stands in', '  vector -1x\n', ''],
  ])('have benches of their own where %s differs', async (_, from, to) => {
    const [one, other] = await both(text => {
      expect(text).toContain(from)
      return text.replace(from, to)
    })
    expect(other?.input.bench).toBeDefined()
    expect(other?.input.bench).not.toBe(one?.input.bench)
    expect(other?.predictions).not.toBe(one?.predictions)
  })

  it('are apart where boards of the same numbers are known less well', async () => {
    const board = (name: string, spread: string): string => `board ${name} {\n  load-line 0.5 mΩ${spread}\n}\n`
    const head = `${benchText}${board('near', '')}${board('far', ' ± 0.1 mΩ')}`
    const on = (text: string, name: string): string => text.replace('room loft', `room loft\n  board ${name}`)
    const service = createService(
      memoryFiles({
        [uri]: `${head}${on(profileText(0), 'near')}${on(profileText(2), 'far').replace('54x', '52x')}`,
      }),
    )
    await service.workspace.load([uri])
    const [one, other] = service.evaluations(uri)
    expect(other?.input.uncertain.length).toBeGreaterThan(one?.input.uncertain.length ?? 0)
    expect(other?.input.bench).not.toBe(one?.input.bench)
  })
})
