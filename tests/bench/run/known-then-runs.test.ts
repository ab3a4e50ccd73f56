import { readFileSync } from 'node:fs'
import { fileURLToPath } from 'node:url'
import { expect, it } from 'vitest'
import type { FitResult } from '../../../server/bench/fit/fit.ts'
import type { RunsFit } from '../../../server/bench/fit/runs.ts'
import { benchOf } from '../../../server/bench/likelihood/constants.ts'
import { partPriors } from '../../../server/bench/likelihood/priors.ts'
import type { ComparedRun } from '../../../server/bench/run/compared.ts'
import { settle } from '../../../server/model/settle.ts'
import type { Part } from '../../../server/model/types.ts'
import { createService } from '../../../server/service.ts'
import type { FileSystem } from '../../../server/workspace/files.ts'
import { nodeFiles, uriOfPath } from '../../../server/workspace/node-files.ts'
import { fitRuns } from '../../harness/at-once.ts'
import { realConstants } from '../../harness/example-logs.ts'
import { nodeLogs } from '../../harness/file-systems.ts'
import { comparedRuns } from '../../harness/runs.ts'

/**
 * The example's part as somebody begins with it: no constant is stated, only points are remembered, of a part whose real
 * constants are known here. Then runs whose voltage was read are fitted as well. What is predicted has the truth both times,
 * and is surer then.
 */

const folder = fileURLToPath(new URL('../../../grammar/examples/bench/', import.meta.url))
const uri = uriOfPath(`${folder}runs.detent`)
const benchUri = uriOfPath(`${folder}bench.detent`)

/** The example with another text of the part, and its runs. */
async function compared(text: string) {
  const files: FileSystem = {
    read: async address => (address === benchUri ? new TextEncoder().encode(text) : nodeFiles.read(address)),
  }
  const service = createService(files)
  await service.workspace.load([uri])
  return comparedRuns(service, uri, nodeLogs)
}

const settledOf = ({ predicted }: ComparedRun, part: (stated: Part) => Part) => {
  const { bench } = predicted!.evaluation.input
  return settle({ ...bench!, part: part(bench!.part) }, predicted!.load.load, predicted!.corner)!
}
/** The sample as the logs were made from it: the first two are as the example states them. */
const real = (stated: Part): Part => ({ ...stated, leakageAtV: 1.15, leakageExponent: 3.5, ...realConstants })

it('points alone predict honestly, and with runs more surely', { timeout: 240_000 }, async () => {
  const stated = readFileSync(`${folder}bench.detent`, 'utf8')
  const first = await compared(stated)
  const named = (runs: readonly ComparedRun[], name: string) => runs.find(({ record }) => record.name === name)!
  const rows = ['heavy-render', 'heavy-browse', 'light-compile', 'light-browse'].map(name => {
    const run = named(first.runs, name)
    const { clockMhz, voltageV, powerW, dieC, coolantC } = settledOf(run, real)
    const { load } = run.predicted!.load
    if (load.kind !== 'work') throw new Error('it works')
    const work = `cores ${load.cores} activity ${load.activity}${load.vector ? ' vector' : ''}`
    const cooled = coolantC === null ? '' : ` coolant ${coolantC.toFixed(0)} °C`
    return `${(clockMhz! / 1000).toFixed(3)} GHz ${voltageV!.toFixed(3)} V ${powerW!.toFixed(0)} W ${dieC!.toFixed(0)} °C ${work}${cooled}`
  })
  const [before = '', after = ''] = stated.split(/ {2}switching 2\.3 nF[\s\S]*? {2}die-heat 14 J\/K\n/)
  const { view, runs } = await compared(`${before}  known { ${rows.join('; ')} }\n${after}`)
  const part = view.scope.find('part', 'sample-b7')!
  const few = ['heavy-compile', 'heavy-browse', 'light-compile'].map(name => named(runs, name))
  const [alone, both] = [fitRuns(part, []), fitRuns(part, few)]
  expect([alone.points, both.points]).toEqual([4, 4])
  const { posterior } = alone.result as FitResult
  expect(posterior.draws.length).toBeGreaterThan(500)
  const priors = partPriors(part)
  expect(priors.every(({ from }) => from === 'usual')).toBe(true)
  const intervals = (fit: RunsFit, run: ComparedRun) => {
    const partAt = benchOf(
      run.predicted!.evaluation.input.bench!.part,
      undefined,
      priors.map((place, at) => ({ place, at })),
    )
    const { draws } = (fit.result as FitResult).posterior
    const all = draws.filter((_, at) => at % 10 === 0).map(draw => settledOf(run, () => partAt(draw).part))
    return (['powerW', 'dieC'] as const).map(figure => {
      const sorted = all.map(one => one[figure] ?? Number.POSITIVE_INFINITY).toSorted((a, b) => a - b)
      const at = (share: number): number => sorted[Math.round(share * (sorted.length - 1))]!
      return { figure, low: at(0.025), high: at(0.975) }
    })
  }
  const missed: string[] = []
  for (const name of ['heavy-render', 'heavy-compile', 'heavy-browse', 'light-browse']) {
    const run = named(runs, name)
    const truth = settledOf(run, real)
    const [wide, narrow] = [intervals(alone, run), intervals(both, run)]
    wide.forEach(({ figure, low, high }, at) => {
      const { low: from, high: to } = narrow[at]!
      const told = `${name} ${figure}: ${low} to ${high}, then ${from} to ${to}; it is ${truth[figure]}`
      expect(to - from, told).toBeLessThan(high - low)
      for (const [a, b] of [
        [low, high],
        [from, to],
      ] as const)
        if (truth[figure]! < a || truth[figure]! > b) missed.push(told)
    })
  }
  // Of 16 intervals one in twenty may miss.
  expect(missed.length, missed.join('\n')).toBeLessThanOrEqual(1)
})
