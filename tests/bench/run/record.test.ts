import { describe, expect, it } from 'vitest'
import { memoryLogs } from '../../../server/bench/log/source.ts'
import type { ComparedRun } from '../../../server/bench/run/compared.ts'
import { runRecords } from '../../../server/bench/run/record.ts'
import { loadFixture, uriOf } from '../../harness/fixture.ts'
import { comparedRuns } from '../../harness/runs.ts'
import { onBench } from '../../harness/sound-bench.ts'

const steps = '  steps { 1 to 4 cores 46x }'
const uri = uriOf('a.detent')

async function compared(
  run: string,
  logs: Readonly<Record<string, string>> = {},
  bench = onBench(steps, run),
): Promise<ComparedRun> {
  const { service } = await loadFixture(bench)
  const { runs } = await comparedRuns(service, uri, memoryLogs(logs))
  return runs[0]!
}

async function record(lines: string) {
  const { service } = await loadFixture(onBench(steps, `run one of daily under weave {\n${lines}\n}\n`))
  return runRecords(service.workspace.view(uri)!.document.definitions)[0]!
}

describe('the record of a run', () => {
  it('has what the definition says', async () => {
    const found = await record(`  date 2026-01-12 21:40
  revision "3fa81c0"
  air 21.5 °C ± 0.4 K
  log "logs/one.csv" {
    column clock "core clock" MHz
    column die "hot spot" °C
    delimiter tab
    decimal comma
  }
  measured { clock 4.71 GHz; voltage 1231 mV; power 182 W ± 2 W }
  score 18240 "points" higher
  score 41.5 "s" lower
  held 30 min`)
    expect(found).toMatchObject({
      name: 'one',
      profile: 'daily',
      load: 'weave',
      date: '2026-01-12 21:40',
      revision: '3fa81c0',
      air: { value: 21.5, standardUncertainty: 0.4 },
      humidity: undefined,
      log: { path: 'logs/one.csv', delimiter: '\t', decimal: ',' },
      scores: [
        { value: 18240, unit: 'points', better: 'higher' },
        { value: 41.5, unit: 's', better: 'lower' },
      ],
      outcome: { kind: 'held', forS: 1800 },
    })
    expect(found.log!.columns.map(({ kind, header, unit }) => [kind, header, unit.symbol])).toEqual([
      ['clock', 'core clock', 'MHz'],
      ['die', 'hot spot', '°C'],
    ])
  })

  it('gives a figure without ± the uncertainty of its last digit', async () => {
    const { measured } = await record('  measured { clock 4.71 GHz; voltage 1231 mV; power 182 W ± 2 W }')
    expect(measured.clock!.standardUncertainty).toBeCloseTo(0.01 / Math.sqrt(12), 12)
    expect(measured.voltage!.standardUncertainty).toBeCloseTo(0.001 / Math.sqrt(12), 12)
    expect(measured.power!.standardUncertainty).toBe(2)
  })

  it('knows a run that stopped', async () => {
    expect((await record('  stopped after 12 min "hang"')).outcome).toEqual({
      kind: 'stopped',
      afterS: 720,
      what: 'hang',
    })
  })

  it('loses a line that does not read, and nothing else', async () => {
    const found = await record('  air warm\n  measured { power 182 V; die 64 °C }')
    expect(found.air).toBeUndefined()
    expect(Object.keys(found.measured)).toEqual(['die'])
  })
})

describe('a run beside its prediction', () => {
  const byHand = (figures: string, air = 'air 22 °C\n  humidity 50 %'): string =>
    `run one of daily under weave {\n  ${air}\n  measured { ${figures} }\n}\n`

  it('agrees where the figures do', async () => {
    const first = await compared(byHand('power 50 W'))
    const { settled } = first.predicted!
    const same = byHand(`clock 4.6 GHz; power ${settled.powerW!.toFixed(1)} W; die ${settled.dieC!.toFixed(1)} °C`)
    const { compared: figures } = await compared(same)
    expect(figures.map(({ figure, off }) => [figure, off])).toEqual([
      ['clock', false],
      ['power', false],
      ['die', false],
    ])
  })

  it('is off by more than its uncertainty, or not', async () => {
    const { predicted } = await compared(byHand('power 50 W'))
    const die = predicted!.settled.dieC!
    const at = async (by: number) => (await compared(byHand(`die ${(die + by).toFixed(1)} °C`))).compared[0]!
    expect(await at(1.5)).toMatchObject({ off: false })
    // Twice the instrument's kelvin, and the last digit's share.
    expect(await at(2.5)).toMatchObject({ off: true })
    expect((await at(-2.5)).difference).toBeLessThan(-2)
  })

  it('is predicted in its own air; without, in the middle of the room, with the room’s width', async () => {
    const [cold, warm] = await Promise.all(
      ['12', '32'].map(air => compared(byHand('die 50 °C', `air ${air} °C\n  humidity 50 %`))),
    )
    expect(warm!.predicted!.settled.dieC! - cold!.predicted!.settled.dieC!).toBeGreaterThan(19)
    const bench = onBench(steps, byHand('die 50 °C', '')).replace('air 22 °C\n', 'air 18 °C to 24 °C\n')
    const { predicted, compared: figures } = await compared('', {}, bench)
    expect(predicted).toMatchObject({
      corner: { airC: 21 },
      assumed: ['air 21 °C, the middle of the room', 'humidity 50 %, the middle of the room'],
    })
    expect(figures[0]!.predictedUncertainty).toBeGreaterThan(6 / Math.sqrt(12))
  })

  it('carries the constants’ ± to the prediction', async () => {
    const bench = onBench(steps, byHand('die 50 °C')).replace('switching 2.0 nF', 'switching 2.0 nF ± 0.2 nF')
    expect((await compared('', {}, bench)).compared[0]!.predictedUncertainty).toBeGreaterThan(1)
    expect((await compared(byHand('die 50 °C'))).compared[0]!.predictedUncertainty).toBeCloseTo(0.29, 1)
  })

  it('says why there is no prediction', async () => {
    expect((await compared('run one of nightly under weave { measured { die 50 °C } }\n')).cannot).toMatch(
      /no profile nightly/,
    )
    expect((await compared('run one of daily under knit { measured { die 50 °C } }\n')).cannot).toMatch(/no load knit/)
  })

  it('takes its figures from where a log settles, and those read off by hand before them', async () => {
    const rows = Array.from(
      { length: 900 },
      (_, at) => `${at},4600,${(60 + (at % 3) * 0.1).toFixed(2)},${(45 - 20 * Math.exp(-at / 60)).toFixed(3)}`,
    )
    const logs = { [uriOf('x.csv')]: `t,clk,pw,hot\n${rows.join('\n')}\n` }
    const log = 'log "x.csv" { column time "t" s; column clock "clk" MHz; column power "pw" W; column die "hot" °C }'
    const run = await compared(`run one of daily under weave {\n  ${log}\n  measured { power 61 W }\n}\n`, logs)
    expect(run.figures.power!.value).toBe(61)
    expect(run.figures.clock!.value).toBeCloseTo(4.6, 12)
    // The bench is known to warm up more slowly than these readings do, which came to 45 °C and stayed: within its error.
    const { value, standardUncertainty } = run.figures.die!
    expect(Math.abs(value - 45)).toBeLessThan(Math.max(1, 2 * standardUncertainty))
    expect(run.settled!.toS).toBeGreaterThan(890)
  })
})

describe('how plate and fan were driven', () => {
  const fan = '  steps { 1 to 4 cores 46x }\n  fan { 20 °C 30 %; 30 °C 60 % }'
  const radiator = 'radiator { 100 % 0.06 K/W }'
  const bench = (run: string): string =>
    onBench(fan, run).replace(radiator, 'radiator { 20 % 0.15 K/W; 100 % 0.06 K/W }')
  const run = (measured: string): string =>
    `run one of daily under weave {\n  air 22 °C\n  measured { ${measured} }\n}\n`

  it('counts a duty that was measured in place of the table of the profile', async () => {
    const [asSet, slow, fast] = await Promise.all(
      ['die 50 °C', 'die 50 °C; fan 25 %', 'die 50 °C; fan 95 %'].map(figures => compared('', {}, bench(run(figures)))),
    )
    expect(asSet!.predicted!.settled.fanPct).toBeGreaterThan(30)
    expect(slow!.predicted!.settled.fanPct).toBe(25)
    expect(fast!.predicted!.settled.fanPct).toBe(95)
    const dies = [slow, asSet, fast].map(one => one!.predicted!.settled.dieC!)
    expect(dies[0]).toBeGreaterThan(dies[1]! + 0.5)
    expect(dies[1]).toBeGreaterThan(dies[2]! + 0.5)
    expect(slow!.compared.map(({ figure }) => figure)).toEqual(['die'])
    expect(slow!.compared[0]!.predicted).toBe(dies[0])
  })

  it('has a duty from the log too', async () => {
    const rows = Array.from({ length: 1200 }, (_, at) => {
      const wave = Math.sin(at * 1.7) + Math.sin(at * 0.37)
      return `${at},${(90 + wave).toFixed(2)},${(50 + 0.2 * wave).toFixed(2)},45`
    })
    const log = ['t,p,d,f', ...rows].join('\n')
    const columns = '    column time "t" s\n    column power "p" W\n    column die "d" °C\n    column fan "f" %'
    const text = bench(`run one of daily under weave {\n  air 22 °C\n  log "a.csv" {\n${columns}\n  }\n}\n`)
    const found = await compared('', { [uriOf('a.csv')]: log }, text)
    expect(found.figures.fan!.value).toBeCloseTo(45, 9)
    expect(found.predicted!.settled.fanPct).toBeCloseTo(45, 9)
    expect(found.odd).toEqual([])
  })

  it('sets current and voltage of the plate beside what is predicted', async () => {
    const plate = `cooler pond-loop kind thermoelectric {
  modules 4
  module { seebeck 53 mV/K; resistance 0.80 Ω; conductance 1.4 W/K }
  wiring 2 by 2
  leads 20 mΩ
  drive-current 8 A
  block-resistance 0.05 K/W
  radiator { 100 % 0.06 K/W }
}`
    const text = onBench(
      '  steps { 1 to 4 cores 46x }\n  drive fixed 5 A',
      run('drive 4.8 A; drive-voltage 12.4 V'),
    ).replace(/cooler pond-loop kind[\s\S]*?\n}/, plate)
    const found = await compared('', {}, text)
    expect(found.cannot).toBeUndefined()
    const { plateC, notes } = found.predicted!.settled
    // Two modules in a row of two rows, each α · ΔT + i · R, and both rows' current through the leads.
    const ownV = 2 * (0.053 * (notes.hotC! - plateC!) + 5 * 0.8) + 0.02 * 10
    expect(found.compared.map(({ figure, predicted }) => [figure, Number(predicted.toFixed(6))])).toEqual([
      ['drive', 5],
      ['drive-voltage', Number(ownV.toFixed(6))],
    ])
  })

  it('doubts a column of duties that go beyond all of it', async () => {
    const rows = Array.from({ length: 80 }, (_, at) => `${at},${90 + (at % 3)},${1200 + (at % 5)}`)
    const log = ['t,p,f', ...rows].join('\n')
    const columns = '    column time "t" s\n    column power "p" W\n    column fan "f" %'
    const text = bench(`run one of daily under weave {\n  log "a.csv" {\n${columns}\n  }\n}\n`)
    const { odd, figures } = await compared('', { [uriOf('a.csv')]: log }, text)
    expect(odd.map(({ kind, problem }) => [kind, problem])).toEqual([['fan', 'impossible']])
    expect(figures.fan).toBeUndefined()
  })
})
