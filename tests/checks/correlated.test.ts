import { describe, expect, it } from 'vitest'
import type { Evaluation } from '../../server/semantic/evaluate.ts'
import { uncertaintyOf } from '../../server/semantic/uncertainty.ts'
import { checkerOf, fixed } from '../harness/check.ts'
import { loadFixture } from '../harness/fixture.ts'
import { partText } from '../harness/make-text.ts'

/** What `correlated` lines may say, and what comes of it. */

const part = (...lines: string[]): string => `detent 1

${partText(
  'willow-4',
  {
    switching: '2.0 nF ± 0.1 nF',
    leakage: '8 W ± 1 W at 1.10 V 60 °C',
    'leakage-doubling': '30 K',
    'shared-power': '8 W ± 1 W',
    'package-resistance': '0.10 K/W ± 0.01 K/W',
    'core-resistance': '0.40 K/W ± 0.02 K/W',
  },
  lines,
)}`
const cooler = (...lines: string[]): string => `
cooler pond-loop kind loop {
  block-resistance 0.05 K/W ± 0.01 K/W
  radiator {
    20 %  0.090 K/W ± 0.01 K/W
    100 % 0.060 K/W
  }
${lines.map(line => `  ${line}\n`).join('')}}
`
const rest = `
room loft { air 22 °C; humidity 50 % }
load weave { cores 4; activity 1.0 }
profile daily {
  part willow-4
  cooler pond-loop
  room loft
  steps { 1 to 4 cores 46x }
}
`

describe('a correlation that changes nothing', () => {
  const checkUnused = checkerOf('key-unused-here')

  it('is one of a constant without ±, reported once where it stands, or of a constant with itself', async () => {
    const found = await checkUnused(
      part(
        'correlated switching leakage -0.5',
        'correlated leakage-doubling leakage -0.5',
        'correlated leakage-doubling switching -0.2',
        // Left out, it has the spread of its usual value.
        'correlated die-heat switching 0.5',
        'correlated idle-power switching 0.1',
        'correlated switching switching 0.5',
        '^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ key-unused-here',
      )
        .replace('  leakage-doubling 30 K\n', '  leakage-doubling 30 K\n  ^^^^^^^^^^^^^^^^^^^^^ key-unused-here\n')
        .replace('  idle-power 6 W\n', '  idle-power 6 W\n  ^^^^^^^^^^^^^^ key-unused-here\n'),
    )
    expect(found.map(({ message }) => message)).toEqual([
      expect.stringMatching(/^`leakage-doubling` has no `±` here, so 2 `correlated` lines for it change no interval/),
      expect.stringMatching(/^`idle-power` has no `±` here, so the `correlated` line for it changes no interval/),
      expect.stringMatching(/^A constant is correlated with itself by 1/),
    ])
    const [first] = found
    expect(first?.fixes?.map(({ title, edits }) => [title, edits.length])).toEqual([['Remove the 2 lines', 2]])
  })

  it('may be of a cooler', async () => {
    await checkUnused(
      part(
        'correlated package-resistance block-resistance of pond-loop -0.5',
        'correlated package-resistance radiator 20 % of pond-loop -0.5',
        'correlated package-resistance radiator 100 % of pond-loop -0.5',
        '^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ key-unused-here',
      ) +
        cooler(
          'correlated block-resistance radiator 20 % -0.5',
          'correlated radiator 20 % radiator 100 % -0.5',
          '^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ key-unused-here',
        ),
    )
  })

  it('goes with its fix', async () => {
    expect(await fixed('key-unused-here', part('correlated leakage-doubling leakage -0.5'))).toBe(part())
  })
})

describe('a pair that is named twice', () => {
  const checkTwice = checkerOf('duplicate-key')

  it('has one line that counts, whichever constant comes first', async () => {
    const [found] = await checkTwice(
      part(
        'correlated switching leakage -0.5',
        '^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ duplicate-key',
        'correlated leakage switching -0.6',
        'correlated leakage shared-power -0.6',
      ),
    )
    expect(found?.message).toContain('`correlated leakage switching` is given twice: again below')
  })

  it('is another pair with another cooler or another row', async () => {
    await checkTwice(
      part(
        'correlated leakage block-resistance of pond-loop -0.5',
        'correlated leakage block-resistance of lake-loop -0.5',
        'correlated leakage radiator 20 % of lake-loop -0.5',
        'correlated leakage radiator 100 % of lake-loop -0.5',
        '^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ duplicate-key',
        'correlated leakage radiator 100 % of lake-loop -0.4',
      ),
    )
  })
})

describe('correlations that no errors can have', () => {
  const checkRange = checkerOf('value-range')

  it('are named at the line with which they became so, with what it could be', async () => {
    const [found, ...more] = await checkRange(
      part(
        'correlated switching leakage 0.9',
        'correlated leakage shared-power 0.9',
        'correlated switching shared-power -0.5',
        '^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ value-range',
        'correlated switching core-resistance 0.1',
      ),
    )
    expect(more).toEqual([])
    // With r₁₂ = r₂₃ = 0.9 the third lies between 0.81 ± 0.19, and three written digits are allowed for.
    const [low, high] =
      /between (\S+) and (\S+)\. /
        .exec(found?.message ?? '')
        ?.slice(1)
        .map(Number) ?? []
    expect(low).toBeGreaterThan(0.59)
    expect(low).toBeLessThanOrEqual(0.62)
    expect(high).toBeGreaterThan(0.98)
  })

  it('are out of -1 to 1 as well', () =>
    checkRange(part('correlated switching leakage -1.2', '                              ^^^ value-range')))

  it('are not those that a fit gives, rounded', async () => {
    await checkRange(
      part(
        'correlated switching leakage 0.999',
        'correlated leakage shared-power -0.999',
        'correlated switching shared-power -0.999',
        'correlated package-resistance core-resistance -0.93',
      ),
    )
  })
})

describe('a correlation of part and cooler', () => {
  async function dieUncertainty(inPart: readonly string[], inCooler: readonly string[] = []): Promise<number> {
    const { service, files } = await loadFixture(part(...inPart) + cooler(...inCooler) + rest)
    const [uri] = Object.keys(files)
    const evaluation = service.evaluations(uri!)[0] as Evaluation
    const prediction = evaluation.predictions.find(one => one.load.load.kind === 'work')!
    const found = uncertaintyOf(evaluation.input, prediction)!
    return found.interval(settled => settled.dieC).standardUncertainty!
  }

  it('is carried: two resistances in a row, correlated', async () => {
    const none = await dieUncertainty([])
    const line = 'correlated package-resistance block-resistance of pond-loop'
    const [against, along] = [await dieUncertainty([`${line} -0.9`]), await dieUncertainty([`${line} 0.9`])]
    expect(against).toBeLessThan(0.9 * none)
    expect(along).toBeGreaterThan(1.1 * none)
    // u² = a² + b² ± 2·0.9·a·b: the mean of both is the sum without. Draws decide here, good to some percent.
    expect((against ** 2 + along ** 2) / 2 / none ** 2).toBeCloseTo(1, 1)
  })

  it('is not carried for another cooler', async () => {
    const line = 'correlated package-resistance block-resistance of lake-loop -0.9'
    expect(await dieUncertainty([line])).toBe(await dieUncertainty([]))
  })

  it('of a radiator’s row, and within the cooler', async () => {
    const none = await dieUncertainty([])
    const row = await dieUncertainty(['correlated package-resistance radiator 20 % of pond-loop 0.9'])
    // The fan runs at full duty here, whose row is known exactly: the other tells nothing of it.
    expect(row).toBeCloseTo(none, 6)
    const within = await dieUncertainty([], ['correlated block-resistance radiator 20 % 0.9'])
    expect(within).toBeCloseTo(none, 6)
  })

  it('names the cooler, which can be renamed and must be there', async () => {
    const line = 'correlated package-resistance block-resistance of pond-loop 0.9'
    const { service, files } = await loadFixture(part(line) + cooler() + rest)
    const [uri, text] = Object.entries(files)[0]!
    const edits = service.features.rename(uri, text.indexOf('pond-loop kind'), 'lake-loop')
    expect(JSON.stringify(edits).match(/lake-loop/g)).toHaveLength(3)
    const checkNames = checkerOf('unknown-name')
    await checkNames(
      part(
        'correlated package-resistance block-resistance of pool-loop 0.9',
        '                                                  ^^^^^^^^^ unknown-name',
      ),
    )
  })
})
