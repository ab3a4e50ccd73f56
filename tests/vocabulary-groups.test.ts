import { describe, expect, it } from 'vitest'
import { allFiguresOf, sheetFor } from '../server/service.ts'
import { loadFixture, uriOf } from './harness/fixture.ts'

/**
 * Every word that may be for one group of cores or one supply rail changes a prediction, a finding, an expectation or the
 * entry sheet by its value there.
 */

const bench = `detent 1
part otter-r3 {
  group broad {
    cores 4
    ratio 8x to 56x
    needs { 46x 1.090 V; 53x 1.310 V }
    needs-at 60 °C
    needs-slope 0.3 mV/K
    vector-needs 15 mV
    switching 2.2 nF
    leakage 9 W at 1.15 V 60 °C
    core-resistance 0.48 K/W
  }
  group small {
    cores 10
    ratio 8x to 42x
    core-voltage 0.70 V to 1.34 V
    needs { 33x 0.990 V; 40x 1.195 V }
    needs-at 60 °C
    needs-slope 0.4 mV/K
    vector-needs 20 mV
    switching 0.75 nF
    leakage 6 W at 1.15 V 60 °C
    core-resistance 1.85 K/W
    rail side
  }
  reference 100 MHz
  core-voltage 0.65 V to 1.38 V
  die-limit 97 °C
  shared-power 13 W
  idle-power 8 W
  package-resistance 0.11 K/W
}
cooler ring kind loop {
  radiator { 40 % 0.055 K/W; 100 % 0.034 K/W }
  block-resistance 0.043 K/W
}
room attic { air 25 °C; humidity 48 % }
board bench-top {
  core-voltage-step 5 mV
  core-voltage-step side 20 mV
  load-line 0.2 mΩ
  load-line side 0.5 mΩ
  menu {
    steps small "Clocks" "Slow ones"
    core-voltage side "Feeds" "Second feed"
  }
}
load whole { cores broad 4; cores small 10; activity 1.0; activity small 0.9 }
load sums { cores 14; vector yes }
load light { cores small 6 }
profile day {
  part otter-r3
  cooler ring
  room attic
  board bench-top
  steps broad { 1 to 4 cores 50x }
  steps small { 1 to 10 cores 40x }
  bands small return 2 K { 1 to 10 cores above 72 °C -1x }
  vector broad -1x
  vector small -2x
  voltage {
    core broad needs + 30 mV
    core small needs + 60 mV
    set small 38x 1.200 V
  }
  limits { current 150 A; current side 70 A }
  expect whole holds small >= 3.0 GHz
  expect whole voltage small <= 1.30 V
  expect whole current small <= 60 A
}
`

/** All that a person is shown for a text, without places. */
async function shown(text: string): Promise<string> {
  const uri = uriOf('a.detent')
  const { service } = await loadFixture(`--- a.detent\n${text}`)
  const findings = service
    .findings(uri)
    .map(({ finding: { code, severity, message, load } }) => ({ code, severity, message, load }))
  const profiles = service.evaluations(uri).map(evaluation => ({
    figures: allFiguresOf(evaluation),
    judged: service.expectations(evaluation).map(({ predicted, holds }) => ({ predicted, holds })),
  }))
  const pages = (sheetFor(service.workspace, uri, 'day')?.pages ?? []).map(({ page, lines }) => ({
    page,
    lines: lines.map(({ setting, row, field, enter }) => [setting, row, field, enter]),
  }))
  return JSON.stringify({ findings, profiles, pages }, undefined, 1)
}

/** What stands once, what it becomes, and changes before that, where the bench as it is leaves the word nothing to say. */
type Change = readonly [from: string, to: string, ...first: (readonly [string, string])[]]

const words: Readonly<Record<string, Change>> = {
  'group cores': ['    cores 10\n', '    cores 9\n'],
  'group ratio': ['ratio 8x to 42x', 'ratio 8x to 39x'],
  'group core-voltage': ['0.70 V to 1.34 V', '0.70 V to 1.20 V'],
  'group needs': ['33x 0.990 V; 40x 1.195 V', '33x 0.990 V; 40x 1.190 V'],
  'group needs-at': ['needs-at 60 °C\n    needs-slope 0.4', 'needs-at 50 °C\n    needs-slope 0.4'],
  'group needs-slope': ['needs-slope 0.4', 'needs-slope 0.5'],
  'group vector-needs': ['vector-needs 20 mV', 'vector-needs 25 mV'],
  'group switching': ['switching 0.75 nF', 'switching 0.70 nF'],
  'group leakage': ['leakage 6 W', 'leakage 7 W'],
  'group core-resistance': ['core-resistance 1.85', 'core-resistance 1.95'],
  'group rail': ['    rail side\n', ''],
  'load cores': ['cores small 10;', 'cores small 8;'],
  'load activity': ['activity small 0.9', 'activity small 0.8'],
  'profile steps': ['steps small { 1 to 10 cores 40x }', 'steps small { 1 to 10 cores 37x }'],
  'profile bands': ['above 72 °C', 'above 30 °C'],
  'profile vector': ['vector small -2x', 'vector small -1x'],
  'voltage core': ['core small needs + 60 mV', 'core small needs + 100 mV'],
  'voltage set': ['set small 38x 1.200 V', 'set small 38x 1.240 V'],
  'limits current': ['current side 70 A', 'current side 10 A'],
  'board load-line': ['load-line side 0.5 mΩ', 'load-line side 0.7 mΩ'],
  'board core-voltage-step': ['core-voltage-step side 20 mV', 'core-voltage-step side 50 mV'],
  'menu of a group': ['steps small "Clocks" "Slow ones"', 'steps broad "Clocks" "Slow ones"'],
  'menu of a rail': ['core-voltage side "Feeds"', 'core-voltage main "Feeds"'],
  'expect holds': ['holds small >= 3.0 GHz', 'holds broad >= 3.0 GHz'],
  'expect voltage': ['voltage small <= 1.30 V', 'voltage broad <= 1.30 V'],
  'expect current': ['current small <= 60 A', 'current broad <= 60 A'],
}

function replaceOnce(text: string, [from, to]: readonly [string, string]): string {
  const pieces = text.split(from)
  if (pieces.length !== 2) throw new Error(`“${from}” stands ${pieces.length - 1} times`)
  return pieces.join(to)
}

describe('a word for one group or rail', () => {
  it('stands in a bench that is predicted, with no line in error', async () => {
    const { findings, profiles } = JSON.parse(await shown(bench)) as {
      findings: { code: string; severity: string }[]
      profiles: { figures: unknown[] }[]
    }
    expect(findings.filter(({ severity }) => severity === 'error')).toEqual([])
    expect(profiles[0]?.figures).toHaveLength(4)
  })

  it.each(Object.keys(words))('%s: another value shows', async key => {
    const [from, to, ...first] = words[key] as Change
    const before = first.reduce(replaceOnce, bench)
    const after = replaceOnce(before, [from, to])
    expect(await shown(after)).not.toBe(await shown(before))
  })

  it.each(
    // Without its name such a line takes the place of the one for all, or has others to serve.
    ['load-line side', 'core-voltage-step side', 'current side', 'set small'].map(
      line => [line, line.replace(/ (?:side|small)/, '')] as const,
    ),
  )('%s is not the same as %s', async (line, whole) => {
    expect(await shown(replaceOnce(bench, [line, whole]))).not.toBe(await shown(bench))
  })
})
