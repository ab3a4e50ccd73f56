import { cpSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { temporaryFolder } from '../harness/process.ts'
import { benchText, detent } from './helpers.ts'

const example = new URL('../../grammar/examples/bench', import.meta.url).pathname

interface Runs {
  readonly runs: readonly {
    readonly run: string
    readonly log: string | null
    readonly rows: number | null
    readonly malformed_rows: number | null
    readonly window_s: readonly [number, number] | null
    readonly why: string | null
    readonly figures: readonly {
      readonly figure: string
      readonly measured: number
      readonly measured_uncertainty: number
      readonly predicted: number
      readonly difference: number
      readonly combined_uncertainty: number
      readonly off: boolean
    }[]
  }[]
}

async function runs(folder: string, file = 'runs.detent'): Promise<Runs['runs']> {
  const { out, code } = await detent(folder, ['predict', '--runs', '--output', 'json', file])
  expect(code).toBe(0)
  return (JSON.parse(out) as Runs).runs
}

/** Mean of the squared differences over their uncertainty. */
function misfit(list: Runs['runs']): number {
  const all = list.flatMap(({ figures }) => figures.map(one => (one.difference / one.combined_uncertainty) ** 2))
  return all.reduce((sum, one) => sum + one, 0) / all.length
}

const run = `
run evening of daily under work {
  air 20 °C
  humidity 40 %
  log "evening.csv" {
    column time "t" s
    column power "package" W
    column die "hot" °C
  }
}
`

describe('predict --runs', () => {
  it('sets what was measured beside what is predicted, with the differences', async () => {
    const list = await runs(example)
    expect(list.length).toBeGreaterThan(4)
    for (const { figures } of list) {
      for (const { measured, predicted, difference, combined_uncertainty, off } of figures) {
        expect(difference).toBeCloseTo(measured - predicted, 12)
        expect(off).toBe(Math.abs(difference) > 2 * combined_uncertainty)
      }
    }
    expect(list.some(({ malformed_rows }) => (malformed_rows ?? 0) > 0)).toBe(true)
    const { out } = await detent(example, ['predict', '--runs', 'runs.detent'])
    expect(out).toContain('under load from')
  })

  it('says what is wrong with a log: not there, wrong column, far from settled', async () => {
    const ramp = Array.from({ length: 400 }, (_, t) => `${t},${50 + t / 4},${30 + t / 8}`).join('\n')
    using folder = temporaryFolder({
      'missing.detent': benchText() + run,
      'column.detent':
        benchText() +
        run
          .replaceAll('evening', 'column')
          .replace('"package"', '"nowhere"')
          .replace('"hot"', '"neither"')
          .replace('"t"', '"nor"'),
      'column.csv': `t,package,hot\n${ramp}\n`,
      'ramp.detent': benchText() + run.replaceAll('evening', 'ramp'),
      'ramp.csv': `t,package,hot\n${ramp}\n`,
      'block.detent': `${benchText()}\nrun blockless of daily under work { log "ramp.csv" }\nrun bare of daily under work { held 1 h }\n`,
    })
    const [missing] = await runs(folder.path, 'missing.detent')
    expect(missing).toMatchObject({ log: 'missing', window_s: null, figures: [] })
    const [column] = await runs(folder.path, 'column.detent')
    expect(column).toMatchObject({ log: 'no-header', figures: [] })
    const [drifting] = await runs(folder.path, 'ramp.detent')
    // A log that still warms up is not refused: it has an uncertainty, and what is missing is said.
    expect(drifting).toMatchObject({ log: 'read', rows: 400, window_s: [expect.any(Number), expect.any(Number)] })
    const die = drifting!.figures.find(({ figure }) => figure === 'die')!
    expect(die.measured).toBeGreaterThan(80)
    expect(die.measured_uncertainty).toBeGreaterThan(2)
    const { out } = await detent(folder.path, ['predict', '--runs', '.'])
    expect(out).toContain('its log is not there')
    expect(out).toContain('none of its columns stands in the first 200 lines of the log')
    const plain = out.replace(/\s+/g, ' ')
    expect(plain).toMatch(/run blockless of daily under work block.detent its `log` does not read: the columns stand/)
    expect(plain).toMatch(/run bare of daily under work block.detent held 1 h; nothing was measured: it has neither/)
  })
})

describe('fit', () => {
  it('finds constants with their uncertainty, and says what it leaves alone', async () => {
    const { out, code } = await detent(example, ['fit', 'runs.detent', '--part', 'sample-b7', '--output', 'json'])
    expect(code).toBe(0)
    const fit = JSON.parse(out) as {
      parameters: {
        name: string
        value: number
        standard_uncertainty: number | null
        unit: string
        fitted: boolean
        why: string | null
      }[]
      scatter: { power_pct: number; temperature_k: number }
      room_warming: {
        value_k: number
        standard_uncertainty_k: number
        interval_95_k: [number, number]
        learned: number
      }
      points: { run: string; measured_w: number; predicted_w: number }[]
    }
    const switching = fit.parameters.find(({ name }) => name === 'switching')
    expect(switching).toMatchObject({ unit: 'nF', fitted: true, why: null })
    expect(switching?.standard_uncertainty).toBeGreaterThan(0)
    for (const one of fit.parameters)
      expect(one.fitted ? one.why : (one.why ?? '').length > 0).toBe(one.fitted ? null : true)
    expect(fit.scatter.power_pct).toBeGreaterThan(0)
    expect(fit.scatter.power_pct).toBeLessThan(2)
    // The room of these logs keeps its temperature.
    const { value_k, standard_uncertainty_k, interval_95_k, learned } = fit.room_warming
    expect(Math.abs(value_k)).toBeLessThan(3 * standard_uncertainty_k)
    expect(interval_95_k[0]).toBeLessThan(0)
    expect(interval_95_k[1]).toBeGreaterThan(0)
    expect(learned).toBeGreaterThan(0.9)
    // By hand no voltage was read, at a clock that the profile does not set: 6 W of what is fitted there are that.
    for (const { run, measured_w, predicted_w } of fit.points)
      if (run !== 'light-by-hand') expect(Math.abs(measured_w - predicted_w), run).toBeLessThan(3)
  })

  it('writes the constants, after which the predictions are closer to what was measured', {
    timeout: 180_000,
  }, async () => {
    using folder = temporaryFolder({})
    cpSync(example, folder.path, { recursive: true })
    const before = misfit(await runs(folder.path))
    const untouched = readFileSync(join(folder.path, 'bench.detent'), 'utf8')
    const { code, err } = await detent(folder.path, ['fit', 'runs.detent', '--part', 'sample-b7', '--write'])
    expect(code).toBe(0)
    expect(err).toContain('bench.detent')
    const written = readFileSync(join(folder.path, 'bench.detent'), 'utf8')
    expect(written).not.toBe(untouched)
    expect(written).toMatch(/switching [\d.]+ nF ± [\d.]+ nF/)
    const beside = readFileSync(join(folder.path, 'sample-b7.fitted.detent'), 'utf8')
    expect(beside).toMatch(/correlated \S+ \S+ -?[\d.]+/)
    expect(misfit(await runs(folder.path))).toBeLessThan(before / 4)
    expect((await detent(folder.path, ['format', '--check', 'bench.detent'])).code).toBe(0)
  })

  it('fits only what is named', async () => {
    const { out } = await detent(example, [
      ...['fit', 'runs.detent', '--part', 'sample-b7', '--output', 'json'],
      ...['--free', 'switching', '--runs', 'heavy-compile,heavy-browse'],
    ])
    const { parameters, points } = JSON.parse(out) as {
      parameters: { name: string; fitted: boolean }[]
      points: { run: string }[]
    }
    expect(parameters.filter(({ fitted }) => fitted).map(({ name }) => name)).toEqual(['switching'])
    expect(new Set(points.map(one => one.run))).toEqual(new Set(['heavy-compile', 'heavy-browse']))
  })

  it.each([
    [['runs.detent', '--part', 'nobody']],
    [['runs.detent', '--part', 'sample-b7', '--runs', 'nobody']],
    [['runs.detent', '--part', 'sample-b7', '--free', 'luck']],
    [['nowhere.detent', '--part', 'sample-b7']],
  ])('refuses %j in one line', async args => {
    const { code, err } = await detent(example, ['fit', ...args])
    expect(code).toBe(2)
    expect(err.trim().split('\n')).toHaveLength(1)
  })
})
