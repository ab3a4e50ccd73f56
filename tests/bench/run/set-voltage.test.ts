import { readFileSync } from 'node:fs'
import { fileURLToPath } from 'node:url'
import { describe, expect, it } from 'vitest'
import { clockBehind, railVoltageBehind, voltageBehind } from '../../../server/bench/likelihood/set-voltage.ts'
import { groupWorkOf } from '../../../server/bench/run/group-work.ts'
import { expectedOf, logPointOf, workOf } from '../../../server/bench/run/log-point.ts'
import { setVoltagesOf } from '../../../server/bench/run/set-voltage.ts'
import { isWork } from '../../../server/model/index.ts'
import { settle } from '../../../server/model/settle.ts'
import type { Evaluation } from '../../../server/semantic/evaluate.ts'
import { createService } from '../../../server/service.ts'
import { nodeFiles, uriOfPath } from '../../../server/workspace/node-files.ts'
import { settledLog } from '../../harness/at-once.ts'
import { nodeLogs } from '../../harness/file-systems.ts'
import { loadFixture, uriOf } from '../../harness/fixture.ts'
import { comparedRuns } from '../../harness/runs.ts'

/** What stands for a voltage that nobody read is what the model has at the die, once clock and die temperature are its. */

const examples = fileURLToPath(new URL('../../../grammar/examples/', import.meta.url))

async function evaluationsOf(file: string): Promise<readonly Evaluation[]> {
  const uri = uriOfPath(`${examples}${file}`)
  const service = createService(nodeFiles)
  await service.workspace.load([uri])
  return service.evaluations(uri)
}

/** All steady states of a file's profiles: the voltage of each busy group as the model has it, and what stands for it. */
function pairsOf(evaluations: readonly Evaluation[]): readonly (readonly [model: number, instead: number])[] {
  return evaluations.flatMap(evaluation => {
    const { bench, loads, corners } = evaluation.input
    return loads.flatMap(({ load }) => {
      const settled = bench && settle(bench, load, corners[0]!)
      if (bench == null || settled == null || settled.state !== 'steady' || !isWork(load)) return []
      const expected = expectedOf(evaluation, bench, settled)
      const work = workOf(load, one => groupWorkOf(bench.part, one, () => false, expected))!
      const { groups } = work
      if (groups === undefined) {
        const instead = voltageBehind(expected.sets[0]!, bench.part, work, settled.clockMhz! / 1000, settled.dieC!)
        return [[settled.voltageV!, instead] as const]
      }
      const ghz = settled.groups!.map(({ clockMhz }) => (clockMhz ?? Number.NaN) / 1000)
      return groups.flatMap((group, index) =>
        group.cores === 0
          ? []
          : [
              [
                settled.groups![index]!.voltageV!,
                railVoltageBehind(bench.part, groups, group, ghz, settled.dieC!),
              ] as const,
            ],
      )
    })
  })
}

describe('the voltage that stands for one that nobody read', () => {
  it.each([
    ['bench/heavy-work.detent', 10],
    ['bench/light-work.detent', 2],
    ['two-kinds/workday.detent', 4],
  ])('is that of the model in %s', async (file, least) => {
    const pairs = pairsOf(await evaluationsOf(file))
    expect(pairs.length).toBeGreaterThanOrEqual(least)
    for (const [model, instead] of pairs) expect(instead).toBeCloseTo(model, 9)
  })

  it.each(['bench/heavy-work.detent', 'bench/light-work.detent'])('gives its clock back in %s', async file => {
    let count = 0
    for (const evaluation of await evaluationsOf(file)) {
      const { bench, loads, corners } = evaluation.input
      for (const { load } of loads) {
        const settled = settle(bench!, load, corners[0]!)
        if (settled?.state !== 'steady' || !isWork(load)) continue
        const [set] = expectedOf(evaluation, bench!, settled).sets
        const work = workOf(load)!
        const clockGhz = settled.clockMhz! / 1000
        const found = clockBehind(set!, bench!.part, work, settled.voltageV!, settled.dieC!)!
        // But for the board's grid.
        expect(Math.abs(found / clockGhz - 1)).toBeLessThan(0.002)
        count++
      }
    }
    expect(count).toBeGreaterThan(1)
  })

  it('lies between those of two steps where the clock does, and is as sure as load line and grid let it be', async () => {
    const text = readFileSync(`${examples}first.detent`, 'utf8').replace(
      '  room my-room\n  steps',
      '  room my-room\n  board plank\n  steps',
    )
    const setsWith = async (board: string) => {
      const { service } = await loadFixture(`${text}\nboard plank { ${board} }\n`)
      const [evaluation] = service.evaluations(uriOf('a.detent'))
      const { bench, corners, loads } = evaluation!.input
      const settled = settle(bench!, loads.find(({ name }) => name === 'all-cores')!.load, corners[0]!)!
      return { set: setVoltagesOf(evaluation!, bench!, settled)[0]!, currentA: settled.currentA! }
    }
    const { set, currentA } = await setsWith('core-voltage-step 10 mV; load-line 0.5 mΩ ± 0.2 mΩ')
    // 46x asks for 1.120 V and 15 mV, 47x for 1.140 V and 15 mV: on the grid 1.14 V and 1.16 V.
    expect(set.at(4.6)).toBeCloseTo(1.14, 9)
    expect(set.at(4.7)).toBeCloseTo(1.16, 9)
    expect(set.at(4.625)).toBeCloseTo(1.145, 9)
    expect(set.loadLineOhm).toBeCloseTo(0.0005, 12)
    expect(set.standardUncertainty).toBeCloseTo(Math.hypot(0.01, 0.01 / Math.sqrt(12), 0.0002 * currentA), 9)
    expect((await setsWith('supply 850 W')).set.standardUncertainty).toBe(0.01)
  })

  it('moves what a log settles at, though the log is the same', async () => {
    const uri = uriOfPath(`${examples}bench/runs.detent`)
    const service = createService(nodeFiles)
    await service.workspace.load([uri])
    const { runs } = await comparedRuns(service, uri, nodeLogs)
    const { series, predicted } = runs.find(({ record }) => record.name === 'light-browse')!
    const { input, profile } = predicted!.evaluation
    const settledAt = (voltageV: number) => {
      const own = { ...input.bench!.profile, voltage: { kind: 'fixed', voltageV } as const }
      const bench = { ...input.bench!, profile: own }
      const on = {
        point: logPointOf(series!, predicted!, bench, true),
        bench,
        part: profile.part!,
        cooler: profile.cooler!,
      }
      return settledLog(series!, 'work', on)!.figures.die!.value
    }
    const [low, high] = [settledAt(1.2), settledAt(1.45)]
    expect(high).not.toBe(low)
    expect(settledAt(1.2)).toBe(low)
  })
})
