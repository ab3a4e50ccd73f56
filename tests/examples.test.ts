import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { moduleFromDatasheet } from '../server/model/index.ts'
import { projectPaths, root } from './harness/sources.ts'

/** What every example must keep to, whatever it is an example of. */

const examples = projectPaths().filter(path => /^grammar\/(?:examples|vocabulary)\/.*\.(?:detent|ts)$/.test(path))

function modules(text: string): readonly Record<'at' | 'current' | 'voltage' | 'heat' | 'difference', number>[] {
  return [...text.matchAll(/module \{([^}]*)\}/g)].flatMap(([, block = '']) => {
    const value = (word: string): number => Number(new RegExp(`\\b${word} ([\\d.]+)`).exec(block)?.[1])
    const figures = {
      at: value('at'),
      current: value('current'),
      voltage: value('voltage'),
      heat: value('heat'),
      difference: value('difference'),
    }
    return Object.values(figures).some(Number.isNaN) ? [] : [figures]
  })
}

describe('the datasheet figures of thermoelectric modules in the examples', () => {
  const found = examples
    .filter(path => !path.includes('module-inconsistent'))
    .flatMap(path => modules(readFileSync(join(root, path), 'utf8')).map(figures => [path, figures] as const))

  it('are there to be looked at', () => {
    expect(found.length).toBeGreaterThan(4)
  })

  it.each(found)('obey Q = V · I · (T + ΔT)/(2 · T) to 1 %%: %s', (_path, figures) => {
    const { at, current, voltage, heat, difference } = figures
    const hotK = at + 273.15
    const byHand = (voltage * current * (hotK + difference)) / (2 * hotK)
    expect(Math.abs(heat / byHand - 1)).toBeLessThan(0.01)
    const { heatRatio } = moduleFromDatasheet({
      hotC: at,
      currentA: current,
      voltageV: voltage,
      heatW: heat,
      differenceK: difference,
    })
    expect(Math.abs(heatRatio - 1)).toBeLessThan(0.01)
  })
})
