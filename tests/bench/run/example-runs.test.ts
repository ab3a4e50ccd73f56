import { readFileSync } from 'node:fs'
import { fileURLToPath } from 'node:url'
import { beforeAll, describe, expect, it } from 'vitest'
import { companionBlock } from '../../../server/bench/fit/companion.ts'
import { fitEdits, fittedConstants } from '../../../server/bench/fit/edits.ts'
import type { RunsFit } from '../../../server/bench/fit/runs.ts'
import type { ComparedRun } from '../../../server/bench/run/compared.ts'
import { applyEdits, createService } from '../../../server/service.ts'
import type { FileSystem } from '../../../server/workspace/files.ts'
import { nodeFiles, uriOfPath } from '../../../server/workspace/node-files.ts'
import type { FileView } from '../../../server/workspace/workspace.ts'
import { fitRuns } from '../../harness/at-once.ts'
import { exampleLogTexts, realConstants } from '../../harness/example-logs.ts'
import { nodeLogs } from '../../harness/file-systems.ts'
import { comparedRuns } from '../../harness/runs.ts'

/** The whole way on the example bench: logs, what they settle at, comparison, fit, and predictions that come closer. */

const folder = fileURLToPath(new URL('../../../grammar/examples/bench/', import.meta.url))
const uri = uriOfPath(`${folder}runs.detent`)
const benchUri = uriOfPath(`${folder}bench.detent`)

let view: FileView
let runs: readonly ComparedRun[]
let fitted: RunsFit

async function compared(
  files: FileSystem,
): Promise<{ readonly view: FileView; readonly runs: readonly ComparedRun[] }> {
  const service = createService(files)
  await service.workspace.load([uri])
  return comparedRuns(service, uri, nodeLogs)
}

beforeAll(async () => {
  ;({ view, runs } = await compared(nodeFiles))
  fitted = fitRuns(view.scope.find('part', 'sample-b7')!, runs)
})

const named = (name: string): ComparedRun => runs.find(({ record }) => record.name === name)!

describe('the logs of the example', () => {
  it('are what the generator makes', async () => {
    for (const [file, text] of await exampleLogTexts())
      expect(readFileSync(`${folder}logs/${file}`, 'utf8') === text, file).toBe(true)
  })

  it('are all read; what is malformed is named', () => {
    const logs = runs.flatMap(({ log }) => log ?? [])
    expect(logs).toHaveLength(9)
    for (const log of logs) expect(log.state).toBe('read')
    expect(named('heavy-compile').log).toMatchObject({
      malformed: { count: 2, first: [{ line: 301 }, { line: 302 }] },
      gapCount: 1,
      empty: { coolant: 1 },
    })
    expect(named('light-compile').log).toMatchObject({ repeatedHeaders: 1, malformed: { count: 0 } })
  })

  it('settle: what counts begins with the load, behind a gap with what is left of it', () => {
    for (const { record, settled, figures } of runs) {
      if (record.log === undefined) continue
      expect(settled, record.name).toBeDefined()
      expect(settled!.fromS).toBeGreaterThanOrEqual(59)
      expect(figures.die, record.name).toBeDefined()
    }
    const { settled, log } = named('heavy-compile')
    expect(log).toMatchObject({ state: 'read', gapCount: 1 })
    expect(settled!.fromS).toBeGreaterThan(1700)
  })
})

describe('measured beside predicted', () => {
  it('shows that the bench is not what it was said to be', () => {
    const off = runs.filter(({ compared: figures }) => figures.some(figure => figure.off))
    expect(off.length).toBeGreaterThan(5)
    const power = named('heavy-compile').compared.find(({ figure }) => figure === 'power')!
    expect(power).toMatchObject({ off: true })
    expect(power.difference).toBeCloseTo(power.measured.value - power.predicted, 12)
  })

  it('has no voltage where none was measured', () => {
    expect(named('light-browse').compared.map(({ figure }) => figure)).toEqual(['clock', 'power', 'die'])
  })
})

describe('the fit', () => {
  it('finds what the sample really is', () => {
    if (!('constants' in fitted.result)) throw new Error(fitted.result.why)
    const { constants, skipped } = fitted.result
    expect(skipped).toEqual([])
    const real = realConstants as Readonly<Record<string, number>>
    const known = constants.filter(({ constant }) => real[constant.field] !== undefined)
    expect(known).toHaveLength(6)
    for (const { constant, value, standardUncertainty } of known) {
      expect(Math.abs(value - real[constant.field]!) / standardUncertainty, constant.name).toBeLessThan(3)
    }
    // The coolers are what they are said to be: their heat capacities come from the warm-ups alone.
    const cooler = (name: string): number => {
      const { value, standardUncertainty, constant } = constants.find(one => one.constant.name === name)!
      return Math.abs(value - constant.value) / standardUncertainty
    }
    for (const name of ['plate-heat of cold-tank', 'coolant-heat of big-loop', 'block-resistance of big-loop'])
      expect(cooler(name), name).toBeLessThan(3)
  })

  it('leaves little over, and finds nothing wrong', () => {
    // Power and die are sensors that may be off by 2 % and 1 K in each sitting: a fit need not follow every one of them.
    for (const { run, powerW, dieC } of fitted.residuals) {
      if (run === 'light-by-hand') continue
      expect(Math.abs(powerW!.fitted / powerW!.measured - 1), run).toBeLessThan(0.015)
      if (!Number.isNaN(dieC!.fitted)) expect(Math.abs(dieC!.fitted - dieC!.measured), run).toBeLessThan(0.8)
    }
    expect(fitted.misfiled).toEqual([])
    expect(fitted.odd).toEqual([])
  })

  it('brings the predictions to what was measured', async () => {
    const { edits, written } = fitEdits(fittedConstants(fitted))
    const bench = readFileSync(`${folder}bench.detent`, 'utf8')
    const document = view.documents.find(other => other.uri === benchUri)!
    const inOrder = edits
      .map(({ chunk, start, end, text }) => {
        const base = document.starts.get(chunk)!
        return { start: base + start, end: base + end, text }
      })
      .toSorted((a, b) => a.start - b.start || a.end - b.end)
    const after = applyEdits(bench, inOrder)
    expect(after).toMatch(/^ {2}switching 2\.3\d+ nF ± 0\.0\d+ nF {2,}# one core at activity 1/m)
    expect(after).not.toContain('correlated')
    const block = companionBlock(fittedConstants(fitted), written, undefined)!.text
    expect(block).toMatch(/^ {2}correlated leakage shared-power -0\.9/m)
    const files: FileSystem = {
      read: async address => (address === benchUri ? new TextEncoder().encode(after) : nodeFiles.read(address)),
    }
    const service = createService(files)
    await service.workspace.load([uri])
    expect(service.findings(benchUri).filter(({ finding }) => finding.severity === 'error')).toEqual([])
    const second = await compared(files)
    const again = second.runs
    // A second fit, from what the first one wrote, finds much the same.
    const refitted = fitRuns(second.view.scope.find('part', 'sample-b7')!, again)
    if (!('constants' in fitted.result && 'constants' in refitted.result)) throw new Error('nothing was fitted')
    for (const one of fitted.result.constants) {
      const other = refitted.result.constants.find(({ constant }) => constant.name === one.constant.name)!
      expect(Math.abs(other.value - one.value) / one.standardUncertainty, one.constant.name).toBeLessThan(1)
    }
    const worst = (list: readonly ComparedRun[], figure: string): number =>
      Math.max(
        ...list.flatMap(one =>
          one.compared.filter(other => other.figure === figure).map(other => Math.abs(other.difference)),
        ),
      )
    expect(worst(runs, 'power')).toBeGreaterThan(15)
    expect(worst(again, 'power')).toBeLessThan(5)
    expect(worst(runs, 'die')).toBeGreaterThan(5)
    expect(worst(again, 'die')).toBeLessThan(1.5)
    expect(again.flatMap(one => one.compared.filter(({ off }) => off))).toEqual([])
  })
})
