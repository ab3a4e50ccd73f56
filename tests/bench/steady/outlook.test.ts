import { describe, expect, it } from 'vitest'
import { settlingOutlook } from '../../../server/bench/steady/outlook.ts'
import { seededUniform } from '../../../server/model/index.ts'

const uniform = seededUniform(7)
/** A mean of twelve uniform draws is close to a normal one. */
const noise = (): number => Array.from({ length: 12 }, () => uniform()).reduce((sum, one) => sum + one, -6)

/** A die from 30 °C on its way to 71 °C: quick by 12 K, slow by 29 K with a time constant of 300 s; ± 0.4 K a row. */
function log(forS: number): { readonly timeS: number[]; readonly dieC: number[] } {
  const timeS = Array.from({ length: forS }, (_, at) => at)
  const dieC = timeS.map(at => 71 - 12 * Math.exp(-at / 8) - 29 * Math.exp(-at / 300) + 0.4 * noise())
  return { timeS, dieC }
}

describe('the outlook of a growing log', () => {
  it.each([400, 600, 900])('after %d s is where it settles, within its uncertainty, and when', forS => {
    const { timeS, dieC } = log(forS)
    const found = settlingOutlook(timeS, dieC, 240)
    expect(found).toBeDefined()
    const { settlesAt = 0, standardUncertainty = 0, inS = 0 } = found ?? {}
    expect(Math.abs(settlesAt - 71)).toBeLessThan(3 * standardUncertainty + 0.2)
    // From the made-up curve: 29·e^(−t/300) is half a kelvin after 300·ln 58 = 1218 s.
    expect(Math.abs(inS + forS - 300 * Math.log(58))).toBeLessThan(300)
  })

  it('becomes more certain with time', () => {
    const [early, late] = [400, 1200].map(forS => {
      const { timeS, dieC } = log(forS)
      return settlingOutlook(timeS, dieC, 240)?.standardUncertainty ?? Number.POSITIVE_INFINITY
    })
    expect(late).toBeLessThan(early as number)
  })

  it('says nothing of a few rows, of a level, or of a slope that may lead anywhere', () => {
    const { timeS, dieC } = log(18)
    expect(settlingOutlook(timeS, dieC, 240)).toBeUndefined()
    const flat = Array.from({ length: 600 }, () => 50 + 0.4 * noise())
    expect(
      settlingOutlook(
        flat.map((_, at) => at),
        flat,
        240,
      ),
    ).toBeUndefined()
    const slope = Array.from({ length: 60 }, (_, at) => 40 + at / 10 + 0.4 * noise())
    expect(
      settlingOutlook(
        slope.map((_, at) => at),
        slope,
        600,
      ),
    ).toBeUndefined()
  })
})
