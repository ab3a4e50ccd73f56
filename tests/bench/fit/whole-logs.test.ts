import { describe, expect, it } from 'vitest'
import { coverage } from '../../harness/coverage.ts'
import { logNames } from '../../harness/whole-logs.ts'

/** From text to interval: logs, steady stretches, means, fit. A thousand evenings (`EVENINGS=1000`) take some minutes. */

const evenings = Number(process.env.EVENINGS ?? 60)
/** Three standard errors of what is counted. */
const allowed = 3 * Math.sqrt(evenings * 0.95 * 0.05)

describe('a fit to whole logs', () => {
  it('covers the true constants 95 times in a hundred', { timeout: 600_000 }, async () => {
    const { fitted, covered, unsteady } = await coverage(evenings)
    expect(Object.keys(fitted).sort()).toEqual([
      'core-resistance',
      'leakage',
      'leakage-doubling',
      'leakage-exponent',
      'package-resistance',
      'shared-power',
      'switching',
    ])
    for (const [name, count] of Object.entries(fitted)) expect(count, name).toBe(evenings)
    for (const [name, count] of Object.entries(covered)) {
      expect(count, name).toBeGreaterThanOrEqual(0.95 * evenings - allowed)
      expect(count, name).toBeLessThanOrEqual(0.95 * evenings + allowed)
    }
    // Some benches are so slow, and some readings scatter so much, that a log is too short; most are not.
    expect(unsteady / (evenings * logNames.length)).toBeLessThan(0.1)
  })
})
