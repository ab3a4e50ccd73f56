import { describe, expect, it } from 'vitest'
import { leversOf } from '../../../server/features/reach/levers/index.ts'
import { evaluate } from '../../../server/semantic/evaluate.ts'
import { applyEdits } from '../../../server/service.ts'
import { loadFixture, uriOf } from '../../harness/fixture.ts'
import { checkedText, loadedText, newIn, reachOf } from './bench.ts'

/** Parts with cores of several kinds: each group's rows and voltages are changed by themselves. */

const part = `part duo {
  group big {
    cores 4
    ratio 8x to 52x
    needs { 30x 0.930 V; 52x 1.260 V }
    switching 2.0 nF
    core-resistance 0.40 K/W
  }
  group small {
    cores 6
    ratio 8x to 40x
    needs { 24x 0.900 V; 40x 1.150 V }
    switching 0.7 nF
    core-resistance 0.80 K/W
  }
  reference 100 MHz
  core-voltage 0.70 V to 1.35 V
  die-limit 95 °C
  leakage 10 W at 1.10 V 60 °C
  leakage-doubling 28 K
  leakage-exponent 3
  shared-power 8 W
  idle-power 6 W
  package-resistance 0.10 K/W
}
`
const text = (steps: string): string => `detent 1

${part}
cooler fins kind air {
  radiator { 100 % 0.12 K/W }
  block-resistance 0.05 K/W
}
room loft {
  air 18 °C to 25 °C
  humidity 40 %
}
load both { cores big 4; cores small 6; activity 0.8 }
load few { cores big 2; cores small 1; activity 0.8 }

profile tuned {
  part duo
  cooler fins
  room loft
  steps big {
    1 to 2 cores   48x
    3 to 4 cores   46x
  }
  steps small {
    1 to 6 cores   ${steps}
  }
  bands return 3 K { 1 to 6 cores above 70 °C -1x }
  voltage {
    core needs + 30 mV
    core small needs + 20 mV
    set big 46x 1.210 V
  }
  limits { die 90 °C; burst-power 200 W; current main 180 A }
}
`
const uri = uriOf('a.detent')

describe('a part with groups', () => {
  it('has levers of each group, whose numbers are those of the text that they write', async () => {
    const base = text('38x')
    const { service } = await loadFixture(base)
    const view = service.workspace.view(uri)
    const definition = view?.document.definitions.find(({ name }) => name === 'tuned')
    if (view === undefined || definition === undefined) throw new Error('not loaded')
    const evaluation = evaluate(view.scope, definition)
    const { bench, corners } = evaluation.input
    if (bench === undefined) throw new Error('not predicted')
    const levers = leversOf(
      evaluation,
      view.scope,
      evaluation.input.loads.filter(({ name }) => name === 'both'),
    )
    const names = levers.map(({ name }) => name)
    expect(names).toEqual(
      expect.arrayContaining([
        'steps big 3 to 4 cores',
        'steps small 1 to 6 cores',
        'voltage core needs',
        'voltage core small needs',
        'voltage set big 46x',
        'limits current main',
        'load both big',
        'load both small',
      ]),
    )
    // No load of the expectation runs two of the big cores.
    expect(names).not.toContain('steps big 1 to 2 cores')
    expect(new Set(names).size).toBe(names.length)
    let compared = 0
    for (const { name, moves } of levers) {
      for (const move of new Set([moves[0], moves[1], moves.at(-1)])) {
        if (move?.numbers === undefined) continue
        const edits = move.edits.map(one => {
          const offset = view.document.starts.get(one.chunk) ?? 0
          return { start: offset + one.start, end: offset + one.end, text: one.text }
        })
        const then = (await loadFixture(applyEdits(base, edits))).service.evaluations(uri)[0]?.input
        const tried = { bench: then?.bench, corners: then?.corners }
        expect(move.numbers({ bench, corners }), `${name} ${move.to}`).toEqual(tried)
        compared++
      }
    }
    expect(compared).toBeGreaterThan(20)
  })

  it.each([
    // The group's own range counts in place of the part's, and that of whatever shares its rail; at most 100 mV are tried.
    ['a rail of its own', '    rail side\n    core-voltage 0.70 V to 1.24 V\n', '', 1.24],
    ['a wider range of its own', '    rail side\n    core-voltage 0.70 V to 1.45 V\n', '', 1.31],
    ['the range of a group on its rail', '', '    core-voltage 0.70 V to 1.225 V\n', 1.225],
    ['the range of a group on another rail', '    rail side\n', '    core-voltage 0.70 V to 1.225 V\n', 1.245],
  ])('raises a set voltage up to %s', async (_, big, small, highV) => {
    const base = text('38x')
      .replace('core-voltage 0.70 V to 1.35 V', 'core-voltage 0.70 V to 1.245 V')
      .replace('cores 4\n    ratio', `cores 4\n${big}    ratio`)
      .replace('cores 6\n    ratio', `cores 6\n${small}    ratio`)
      .replace('set big 46x 1.210 V', 'set big 46x 1.210 V\n    set small 20x 0.920 V')
      .replace('current main', big.includes('rail') ? 'current side' : 'current main')
    const { service } = await loadFixture(base)
    const [evaluation] = service.evaluations(uri)
    const view = service.workspace.view(uri)
    if (evaluation === undefined || view === undefined) throw new Error('not loaded')
    const lever = leversOf(evaluation, view.scope, evaluation.input.loads).find(
      ({ name }) => name === 'voltage set big 46x',
    )
    const most = Math.max(...(lever?.moves ?? []).map(({ to }) => Number(to)))
    expect(most).toBeCloseTo(highV, 9)
  })

  it('reaches what it asks by a group of its own', async () => {
    const base = text('38x')
    const [evaluation] = (await loadedText(base)).evaluations(uri)
    const powers = evaluation?.predictions
      .filter(({ load }) => load.name === 'both')
      .map(one => one.settled.powerW ?? 0)
    // A watt less than what it takes now.
    const plain = await reachOf(base, `both power <= ${(Math.max(...(powers ?? [])) - 1).toFixed(2)} W`)
    const answer = plain.answers.find(({ changes }) => changes[0]?.name === 'steps small 1 to 6 cores')
    expect(plain.now.holds, JSON.stringify(plain.now)).toBe(false)
    expect(answer, plain.answers.map(({ changes }) => changes[0]?.name).join()).toBeDefined()
    const then = applyEdits(base, answer?.edits.flatMap(({ edits }) => edits) ?? [])
    expect(then).toBe(text(`${answer?.changes[0]?.to}x`))
    expect(newIn((await checkedText(then)).bad, (await checkedText(base)).bad)).toEqual([])
  })

  it('reaches what is asked of one group', async () => {
    const base = text('38x')
    const reach = await reachOf(base, 'both holds small >= 3.9 GHz')
    expect(reach.now.holds).toBe(false)
    const answer = reach.answers.find(({ changes }) => changes[0]?.kind === 'step')
    expect(answer?.changes).toMatchObject([{ name: 'steps small 1 to 6 cores', from: 38, to: 39 }])
    expect(applyEdits(base, answer?.edits.flatMap(({ edits }) => edits) ?? [])).toBe(text('39x'))
  })
})
