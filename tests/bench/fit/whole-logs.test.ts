import { describe, expect, it } from 'vitest'
import { coverage } from '../../harness/coverage.ts'
import { logNames } from '../../harness/whole-logs.ts'

/** From text to interval: logs, steady stretches, means, fit. */

describe('a fit to whole logs', () => {
  it('covers the true constants 950 times in a thousand', { timeout: 600_000 }, async () => {
    const evenings = 1000
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
      expect(count, name).toBeGreaterThanOrEqual(930)
      expect(count, name).toBeLessThanOrEqual(970)
    }
    // Some benches are so slow, and some readings scatter so much, that a log is too short; most are not.
    expect(unsteady / (evenings * logNames.length)).toBeLessThan(0.1)
  })
})
