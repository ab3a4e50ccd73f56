import { describe, expect, it } from 'vitest'
import { memoryLogs } from '../../../server/bench/log/source.ts'
import { runRecords } from '../../../server/bench/run/record.ts'
import { runsJson, runsText } from '../../../server/cli/output/runs-output.ts'
import { partConstants } from '../../../server/semantic/constants.ts'
import { knownPoints } from '../../../server/semantic/known.ts'
import { compareKnown } from '../../../server/semantic/known-predicted.ts'
import { createService, formattedText } from '../../../server/service.ts'
import { findingsOf } from '../../checks/demo.ts'
import { memoryFiles } from '../../harness/file-systems.ts'
import { comparedRuns } from '../../harness/runs.ts'
import { soundSteps, twoGroups } from '../../harness/two-groups.ts'

const uri = 'file:///bench/a.detent'

const evening = (measured: string): string =>
  `${twoGroups(soundSteps)}run evening of day under whole {\n  air 25 °C\n  humidity 48 %\n  ${measured}\n}\n`

async function bench(text: string) {
  const service = createService(memoryFiles({ [uri]: text }))
  await service.workspace.load([uri])
  return service
}

async function compared(text: string, logs: Readonly<Record<string, string>> = {}) {
  const { runs } = await comparedRuns(await bench(text), uri, memoryLogs(logs))
  const [run] = runs
  if (run === undefined) throw new Error('the bench has one run')
  return run
}

describe('figures of one group', () => {
  it('stand beside the prediction of that group, others beside that of the first', async () => {
    const run = await compared(evening('measured { voltage 1.21 V; clock small 3.95 GHz; clock 4.99 GHz }'))
    expect(run.compared.map(({ figure, measured, predicted }) => [figure, measured.value, predicted])).toEqual([
      ['clock', 4.99, expect.closeTo(5, 9)],
      ['clock small', 3.95, expect.closeTo(4, 9)],
      ['voltage', 1.21, expect.closeTo(run.predicted?.settled.voltageV ?? Number.NaN, 9)],
    ])
    expect(run.compared.map(({ off }) => off)).toEqual([true, true, expect.any(Boolean)])
    expect(JSON.parse(runsJson([{ file: 'a.detent', run }])).runs[0].figures.slice(0, 2)).toEqual([
      expect.not.objectContaining({ group: expect.anything() }),
      expect.objectContaining({ figure: 'clock', group: 'small', unit: 'GHz', measured: 3.95 }),
    ])
    const io = { out: { isTTY: false }, env: {} } as unknown as Parameters<typeof runsText>[1]
    expect(runsText([{ file: 'a.detent', run }], io)).toMatch(/clock of small +3\.950 GHz +4\.000 GHz/)
  })

  it('that are not as predicted are said of the group', async () => {
    const messages = async (measured: string) =>
      (await findingsOf('prediction-off', evening(measured))).map(({ finding }) => finding.message)
    expect(await messages('measured { clock small 4.00 GHz; power 60 W }')).toEqual([
      expect.not.stringContaining('clock of small'),
    ])
    expect(await messages('measured { clock small 3.80 GHz; power 60 W }')).toEqual([
      expect.stringContaining('clock of small 3.8000 GHz where 4.0000 GHz is predicted'),
    ])
  })

  it('come from columns of a log as well', async () => {
    const rows = Array.from({ length: 120 }, (_, at) => `${at},${5000 + (at % 3)},${3900 + (at % 5)},1.2`)
    const log = ['t,fast,slow,volts', ...rows].join('\n')
    const columns =
      'log "evening.csv" { column time "t" s; column clock "fast" MHz; column clock small "slow" MHz; column voltage small "volts" V }'
    const run = await compared(evening(columns), { 'file:///bench/evening.csv': log })
    expect(run.figures.clock?.value).toBeCloseTo(5.001, 4)
    expect(run.figures['clock small']?.value).toBeCloseTo(3.902, 3)
    expect(run.figures['voltage small']?.value).toBeCloseTo(1.2, 6)
    expect(run.compared.map(({ figure }) => figure)).toEqual(['clock', 'clock small', 'voltage small'])
    expect(run.odd).toEqual([])
  })

  it('cannot be beyond what the group’s ratios give', async () => {
    // 5.4 GHz is a clock of the broad cores and none of the small ones.
    const run = await compared(evening('measured { clock 5.4 GHz; clock small 5.4 GHz }'))
    expect(run.odd.map(({ kind }) => kind)).toEqual(['clock small'])
  })

  it('of one group given twice are a finding, of two groups none', async () => {
    const twice = await findingsOf('duplicate-key', evening('measured { clock small 4 GHz; clock small 3.9 GHz }'))
    expect(twice).toHaveLength(1)
    expect(await findingsOf('duplicate-key', evening('measured { clock broad 5 GHz; clock small 3.9 GHz }'))).toEqual(
      [],
    )
    const again = 'log "evening.csv" { column clock small "a" MHz; column clock small "b" MHz; column clock "c" MHz }'
    const messages = (await findingsOf('run-log', evening(again))).map(({ finding }) => finding.message)
    expect(messages.filter(one => one.startsWith('Another column'))).toEqual([
      expect.stringContaining('already gives the clock of small'),
    ])
  })

  it('of a group that the part lacks are unknown names', async () => {
    const found = async (text: string) => (await findingsOf('unknown-name', text)).map(({ under }) => under)
    expect(await found(evening('measured { clock smal 4 GHz; voltage broad 1.2 V }'))).toEqual(['smal'])
    expect(await found(evening('log "evening.csv" { column clock tiny "slow" MHz; column clock "c" MHz }'))).toEqual([
      'tiny',
    ])
    const known = twoGroups(soundSteps).replace('  reference', '  known { 4 GHz 1.2 V cores smal 2 }\n  reference')
    expect(await found(known)).toEqual(['smal'])
  })

  it('a measured current is that of all supply rails together', async () => {
    const currents = async (rail: string) => {
      const text = evening('measured { current 140 A }').replace(
        '    switching 0.75 nF',
        `    switching 0.75 nF\n${rail}`,
      )
      const { compared: found, predicted } = await compared(text)
      return [found[0]?.predicted, ...(predicted?.settled.groups ?? []).map(({ currentA }) => currentA ?? Number.NaN)]
    }
    const [one, ofOne] = await currents('')
    expect(one).toBeCloseTo(ofOne ?? Number.NaN, 9)
    const [both, broad, small] = await currents('    rail side')
    expect(both).toBeCloseTo((broad ?? Number.NaN) + (small ?? Number.NaN), 9)
    expect(small).toBeGreaterThan(1)
  })

  it('a run without names reads as before', async () => {
    const view = (await bench(evening('measured { clock 4.99 GHz }'))).workspace.view(uri)
    const [record] = runRecords(view?.document.definitions ?? [])
    expect(Object.keys(record?.measured ?? {})).toEqual(['clock'])
  })
})

describe('a remembered point of one group', () => {
  const withKnown = (rows: string, needs = '    needs { 33x 0.990 V; 40x 1.195 V }\n'): string =>
    twoGroups(soundSteps)
      .replace('    needs { 33x 0.990 V; 40x 1.195 V }\n', needs)
      .replace('  reference', `  known {\n    ${rows}\n  }\n  reference`)

  async function partOf(text: string) {
    const part = (await bench(text)).workspace.view(uri)?.scope.find('part', 'otter-r3')
    if (part === undefined) throw new Error('the bench has the part')
    return part
  }

  it('is of that many of its cores; one of a group that the part lacks is left out', async () => {
    const points = knownPoints(
      await partOf(withKnown('4 GHz 1.2 V cores small 2\n    5 GHz 1.2 V cores tiny 1\n    5 GHz')),
    )
    expect(points.map(({ group, cores }) => [group, cores])).toEqual([
      ['small', 2],
      [undefined, 14],
    ])
  })

  it('gives the voltages that its group needs, where those are left out', async () => {
    const needs = async (rows: string) => partConstants(await partOf(withKnown(rows, ''))).value?.groups?.[1]?.needs
    expect(await needs('3.9 GHz 1.17 V cores small 2')).toEqual([{ ratio: 39, voltageV: 1.17 }])
    expect(await needs('3.9 GHz 1.16 V cores small 2')).toEqual([{ ratio: 39, voltageV: 1.16 }])
    // A point without a name, or of the other group, says nothing of it.
    expect(await needs('3.9 GHz 1.17 V')).toBeUndefined()
    expect(await needs('3.9 GHz 1.17 V cores broad 2')).toBeUndefined()
  })

  it('cannot have more cores than the group, nor a clock that only the other group has', async () => {
    const messages = async (rows: string) =>
      (await findingsOf('known-impossible', withKnown(rows))).map(({ finding }) => finding.message)
    expect(await messages('5 GHz 1.2 V cores broad 4\n    4 GHz 1.1 V cores small 10')).toEqual([])
    expect(await messages('5 GHz 1.2 V cores broad 6')).toEqual([expect.stringMatching(/^More cores than the group/)])
    expect(await messages('5 GHz 1.2 V cores small 2')).toEqual([
      expect.stringMatching(/^No ratio of the group `small` gives this clock/),
    ])
  })

  it('is predicted from the constants of its own group', async () => {
    const predictedW = async (switching: string) => {
      const text = withKnown('4 GHz 1.2 V 60 W 50 °C cores small 4').replace(
        'switching 0.75 nF',
        `switching ${switching}`,
      )
      const part = await partOf(text)
      const [point] = knownPoints(part)
      return point && compareKnown(part, point, undefined)[0]?.predicted
    }
    // Four cores at 4 GHz and 1.2 V: 23.04 W for each nanofarad.
    const [one, other] = [await predictedW('0.75 nF'), await predictedW('0.85 nF')]
    expect((other ?? Number.NaN) - (one ?? Number.NaN)).toBeCloseTo(2.304, 6)
    // With all cores at work the clock of the other group is missing.
    const part = await partOf(withKnown('5 GHz 1.2 V 160 W 70 °C'))
    expect(compareKnown(part, knownPoints(part)[0]!, undefined)).toEqual([])
  })

  it('is laid out in the cells of its table', () => {
    const text =
      'part a {\n  known {\n4GHz 1.2V 76 °C cores s 2 air 22 °C\n5 GHz 1.29 V 58 °C cores small 12 air 22 °C\n5 GHz 1.29 V 58 °C cores 2 air 22 °C\n  }\n}\n'
    const laid = formattedText(text)
    expect(laid).toContain('    4 GHz     1.2 V    76 °C   cores s 2 air 22 °C\n')
    expect(laid).toContain('    5 GHz     1.29 V   58 °C   cores small 12 air 22 °C\n')
    expect(laid).toContain('    5 GHz     1.29 V   58 °C   cores 2  air 22 °C\n')
    expect(formattedText(laid)).toBe(laid)
  })
})
