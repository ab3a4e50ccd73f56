import { describe, expect, it } from 'vitest'
import { vocabulary } from '../../grammar/vocabulary/index.ts'
import { singleSlots } from '../../grammar/vocabulary/slots.ts'
import { usualRows } from '../../grammar/vocabulary/usual.ts'
import { check, checkerOf, fixed, foundIn } from '../harness/check.ts'
import { loadFixture, uriOf } from '../harness/fixture.ts'
import { onBench } from '../harness/sound-bench.ts'
import { demo, edited, findingsOf } from './demo.ts'

const code = 'magnitude'

const profile = `  steps { 1 to 4 cores 46x }
  voltage { core needs + 10 mV }
  board test-board
  limits { current 180 A; sustained-power 150 W over 30 s }
  expect weave holds >= 4.5 GHz`
const board = 'board test-board { core-voltage-step 5 mV; load-line 0.2 mΩ; supply 650 W }'
const bench = onBench(profile, board)

async function codesOf(text: string): Promise<string[]> {
  return foundIn(await loadFixture(text)).map(({ finding }) => finding.code)
}

describe('magnitude', () => {
  it('finds nothing on a sound bench', async () => expect(await codesOf(bench)).toEqual([]))

  it.each([
    ['switching 2.0 nF', 'switching 2.0 pF', 'switching 2.0 nF'],
    ['switching 2.0 nF', 'switching 2.0 µF', 'switching 2.0 nF'],
    ['reference 100 MHz', 'reference 100 GHz', 'reference 100 MHz'],
    ['50x   1.240 V', '50x   1240 V', '50x   1240 mV'],
    ['40x   1.040 V', '40x   1.040 mV', '40x   1.040 V'],
    ['load-line 0.2 mΩ', 'load-line 0.2 Ω', 'load-line 0.2 mΩ'],
    ['core-voltage-step 5 mV', 'core-voltage-step 5 V', 'core-voltage-step 5 mV'],
    ['needs + 10 mV', 'needs + 10 V', 'needs + 10 mV'],
    ['0.70 V to 1.35 V', '0.70 V to 1350 V', '0.70 V to 1350 mV'],
    ['idle-power 6 W', 'idle-power 6 kW', 'idle-power 6 W'],
    ['package-resistance 0.10 K/W', 'package-resistance 0.10 mK/W', 'package-resistance 0.10 K/W'],
    ['supply 650 W', 'supply 650 mW', 'supply 650 W'],
    ['current 180 A', 'current 180 mA', 'current 180 A'],
    ['leakage 8 W', 'leakage 8 mW', 'leakage 8 W'],
    ['at 1.10 V 60', 'at 1.10 mV 60', 'at 1.10 V 60'],
    ['sustained-power 150 W', 'sustained-power 150 kW', 'sustained-power 150 W'],
    ['>= 4.5 GHz', '>= 4.5 MHz', '>= 4.5 GHz'],
  ])('finds a slip in %s once, with the unit that was meant: %s', async (from, to, meant) => {
    const text = edited(bench, [from, to])
    expect(await codesOf(text)).toEqual([code])
    const file = bench.indexOf(from) < bench.indexOf('--- bench.detent') ? 'a.detent' : 'bench.detent'
    expect(await fixed(code, text, { file })).toContain(meant)
  })

  it('stands at the value, in its own file', () =>
    check(edited(bench, ['switching 2.0 nF', 'switching 2.0 pF\n            ^^^^^^ magnitude'])))

  it('says how far off it is, and how it is accepted', async () => {
    const [found] = await findingsOf(code, edited(bench, ['switching 2.0 nF', 'switching 2.0 pF']))
    expect(found?.finding.message).toMatch(
      /^`2\.0 pF` is 25 times below what is usual for `switching` \(0\.05 nF to 50 nF\)\. Probably `2\.0 nF` was meant\./,
    )
    expect(found?.finding.message).toContain('`allow magnitude "why"`')
  })

  it('offers no unit where none would do', async () => {
    const [found] = await findingsOf(code, edited(bench, ['leakage-doubling 30 K', 'leakage-doubling 300 K']))
    expect(found?.finding.fixes ?? []).toEqual([])
    expect(found?.finding.message).toContain('Write the value that was meant.')
  })

  it('withholds what follows from the value, leaves expectations undecided and says why', async () => {
    const text = edited(bench, ['reference 100 MHz', 'reference 100 GHz'])
    const { service } = await loadFixture(text)
    const [evaluation] = service.evaluations(uriOf('a.detent'))
    const [expectation] = evaluation === undefined ? [] : service.expectations(evaluation)
    expect(expectation).toMatchObject({ holds: null, undecided: '`reference 100 GHz` is far from what is usual' })
    expect(await codesOf(text)).toEqual([code])
  })

  it('judges everything once the value is accepted in its block', async () => {
    const accepted = edited(bench, ['reference 100 MHz', 'reference 600 MHz\n  allow magnitude "a bench of its own"'])
    const codes = await codesOf(accepted)
    expect(codes).not.toContain(code)
    expect(codes).toContain('voltage-short')
    const refused = edited(bench, ['reference 100 MHz', 'reference 600 MHz'])
    expect(await codesOf(refused)).toEqual([code])
  })

  it('judges it as well where the check is off or the whole file accepts it', async () => {
    const text = edited(bench, ['reference 100 MHz', 'reference 600 MHz'])
    const off = foundIn(await loadFixture(text), { magnitude: 'off' }).map(({ finding }) => finding.code)
    expect(off).toContain('voltage-short')
    const whole = text.replace('--- bench.detent\ndetent 1\n', '$&allow magnitude "all of it"\n')
    const codes = await codesOf(whole)
    expect(codes).toContain('voltage-short')
    expect(codes).not.toContain(code)
  })

  it('lets zero pass, where it means that there is none, and both ends of the range', () =>
    check(`detent 1
board a { load-line 0 mΩ; other-power 0 W }
board b { load-line 20 mΩ }
board c { load-line 5 µΩ }
`))

  it('leaves a value alone that has another finding', async () => {
    const only = checkerOf(code)
    await only(`detent 1\npart a { switching 2.0 mV }\n`)
    await only(`detent 1\npart a { reference -100 GHz }\n`)
  })

  it('blames the row that is wrong, not its neighbour', async () => {
    expect(await codesOf(edited(bench, ['40x   1.040 V', '40x   1040 V']))).toEqual([code])
  })

  it('leaves predictions of runs alone that rest on it', async () => {
    const text = edited(demo('prediction-off'), ['switching 2.0 nF', 'switching 2.0 pF'])
    expect(await codesOf(text)).toEqual([code])
  })
})

describe('the usual ranges', () => {
  it('belong to words and values that there are', () => {
    const known = new Set(
      vocabulary.flatMap(word =>
        word.in.flatMap(place =>
          Object.keys(word.usual ?? {}).map(slot => `${word.word === '' ? place : `${place} ${word.word}`} ${slot}`),
        ),
      ),
    )
    for (const { where, slot } of usualRows) expect(known).toContain(`${where} ${slot}`)
    for (const word of vocabulary) {
      const names = word.forms.flatMap(singleSlots).flatMap(slot => ('name' in slot ? [slot.name] : []))
      for (const slot of Object.keys(word.usual ?? {})) expect(names, `${word.in} ${word.word}`).toContain(slot)
    }
  })

  it('are there for every constant with a dimension', () => {
    const wanted = new Set([
      'capacitance',
      'thermal-resistance',
      'thermal-conductance',
      'heat-capacity',
      'resistance',
      'voltage-per-kelvin',
      'frequency',
    ])
    const lacking = vocabulary.flatMap(word =>
      // What a fit has written is not judged: what it says of a constant stands in the part.
      (['run', 'measured', 'log', 'fitted'] as const).some(place => word.in.includes(place))
        ? []
        : word.forms.flatMap(form =>
            form.flatMap(slot =>
              'dimension' in slot &&
              'name' in slot &&
              slot.slot !== 'unit' &&
              wanted.has(slot.dimension) &&
              word.usual?.[slot.name] === undefined
                ? [`${word.in} ${word.word} ${slot.name}`]
                : [],
            ),
          ),
    )
    expect(lacking).toEqual([])
  })

  it('hold every default of the language', () => {
    for (const word of vocabulary) {
      for (const { low, high } of Object.values(word.usual ?? {})) {
        expect(low).toBeLessThan(high)
        const value = word.default?.value
        if (value !== undefined && value !== 0) {
          const [slot] = Object.values(word.usual ?? {})
          expect(value).toBeGreaterThanOrEqual(slot?.low ?? 0)
          expect(value).toBeLessThanOrEqual(slot?.high ?? 0)
        }
      }
    }
  })
})
