import { describe, expect, it } from 'vitest'
import { benchText } from '../cli/helpers.ts'
import { loadFixture, uriOf } from '../harness/fixture.ts'

async function hoverOn(text: string, piece: string): Promise<string> {
  const { service } = await loadFixture(text)
  const offset = text.indexOf(piece)
  expect(offset).toBeGreaterThanOrEqual(0)
  return service.features.hover(uriOf('a.detent'), offset)?.text ?? ''
}

describe('the hover of an expectation', () => {
  const plain = benchText('  expect work die <= 90 °C\n  expect work holds >= 4.6 GHz')
  const line = 'expect work die'

  it('says nothing of uncertainty where no constant carries any', async () => {
    expect(await hoverOn(plain, line)).toContain('**holds**')
    expect(await hoverOn(plain, line)).not.toContain('95 %')
  })

  it('gives the probability, the interval in the figure’s own unit, and what decided', async () => {
    const little = plain.replace('switching 2 nF', 'switching 2 nF ± 1 %')
    expect(await hoverOn(little, line)).toMatch(
      /holds with a probability of 100 %; 95 % interval 3[\d.]+ °C to 3[\d.]+ °C \(first order\)\./,
    )
    const wide = plain.replace('package-resistance 0.10 K/W', 'package-resistance 0.10 K/W ± 20 %')
    expect(await hoverOn(wide, line)).toMatch(/95 % interval [\d.]+ °C to [\d.]+ °C \(2000 seeded draws decide: /)
    // Switching does not move a clock that no limit touches.
    expect(await hoverOn(little, 'expect work holds')).toContain('95 % interval 4.60 GHz (first order)')
  })
})
