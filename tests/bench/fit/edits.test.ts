import { describe, expect, it } from 'vitest'
import { fitEdits } from '../../../server/bench/fit/edits.ts'
import type { FittedConstant } from '../../../server/bench/fit/fit.ts'
import { needsSlope, whyNoEvidence } from '../../../server/bench/fit/needs-slope.ts'
import type { RunsFit } from '../../../server/bench/fit/runs.ts'
import { coolerPlaces, partPlaces } from '../../../server/bench/likelihood/constants.ts'
import type { PriorConstant } from '../../../server/bench/likelihood/priors.ts'
import { applyEdits } from '../../../server/service.ts'
import { syntaxOf } from '../../grammar/helpers.ts'
import { loadFixture, uriOf } from '../../harness/fixture.ts'
import { truePart } from '../../harness/synthetic-points.ts'

const uri = uriOf('a.detent')

type Values = Readonly<Record<string, readonly [value: number, u: number, learned?: number]>>

/** What a text becomes when these values are fitted; names of radiator rows as `radiator 20 %`. */
async function edited(text: string, values: Values, slopes: RunsFit['needsSlopes'] = []): Promise<string> {
  return (await editing(text, values, slopes)).after
}

/** The same with the number of constants that are said to be written. */
async function editing(text: string, values: Values, slopes: RunsFit['needsSlopes'] = []) {
  const { service } = await loadFixture(text)
  const view = service.workspace.view(uri)!
  const part = view.scope.find('part', 'p')!
  const cooler = view.scope.find('cooler', 'c')
  const known = [
    ...partPlaces('p'),
    ...(cooler === undefined
      ? []
      : coolerPlaces(
          'c',
          {
            kind: 'loop',
            blockResistanceKPerW: 1,
            radiator: [
              { dutyPct: 20, resistanceKPerW: 1 },
              { dutyPct: 100, resistanceKPerW: 1 },
            ],
            plateHeatJPerK: 1,
            coolantHeatJPerK: 1,
          },
          'plain',
        )),
  ]
  const constants = Object.entries(values).map(([name, [value, u, learned = 0.9]]): FittedConstant => {
    const place = known.find(other => other.name === name)!
    const constant: PriorConstant = { ...place, value: 1, spread: 0.3, from: learned < 0.9 ? 'usual' : 'stated' }
    return { constant, value, standardUncertainty: u, interval: [0, 0], learned }
  })
  const { edits } = fitEdits({
    part,
    coolers: new Map(cooler === undefined ? [] : [['c', cooler]]),
    constants,
    correlation: [],
    needsSlopes: slopes,
    runs: [],
  })
  const starts = view.document.starts
  const placed = edits
    .map(({ chunk, start, end, text: fresh }) => ({
      start: starts.get(chunk)! + start,
      end: starts.get(chunk)! + end,
      text: fresh,
    }))
    .toSorted((a, b) => a.start - b.start || a.end - b.end)
  const after = applyEdits(text, placed)
  expect(syntaxOf(after)).toEqual([])
  return { after, constants: edits.reduce((sum, edit) => sum + edit.constants, 0) }
}

describe('the edits of a fit', () => {
  it('count each constant that they write, those of a table too', async () => {
    const { after, constants } = await editing('part p {\n  switching 2.3 nF\n}\ncooler c kind loop { }\n', {
      switching: [2.4, 0.05],
      'block-resistance': [0.04, 0.01],
      'radiator 20 %': [0.08, 0.01],
      'radiator 100 %': [0.04, 0.01],
    })
    expect(constants).toBe(4)
    expect(after).toMatch(/radiator \{ 20 % .*; 100 % .* \}/)
  })

  it('replace values and ±, and keep units, comments and order', async () => {
    const text = `part p {
  shared-power 12 W
  switching 2.3 nF ± 0.05 nF            # fitted before
  leakage 18000 mW at 1.15 V 60 °C
  leakage-exponent 3.5
}
`
    const after = await edited(text, {
      switching: [2.4123, 0.0049],
      leakage: [20.52, 0.31],
      'leakage-exponent': [3.69, 0.044],
    })
    expect(after).toBe(`part p {
  shared-power 12 W
  switching 2.4123 nF ± 0.0049 nF            # fitted before
  leakage 20520 mW ± 310 mW at 1.15 V 60 °C
  leakage-exponent 3.690 ± 0.044
}
`)
  })

  it('take correlations of part and cooler away, which are out of date, and leave those of another cooler', async () => {
    const text = `part p {
  package-resistance 0.1 K/W
  correlated package-resistance radiator 20 % of c 0.5
  correlated leakage block-resistance of c 0.5
  correlated leakage block-resistance of d 0.5
}

cooler c kind loop {
  block-resistance 0.05 K/W
  radiator {
    20 %  0.080 K/W
    100 % 0.040 K/W
  }
  correlated block-resistance radiator 20 % 0.3
}
`
    const fitted = {
      'package-resistance': [0.11, 0.001],
      'block-resistance': [0.04, 0.001],
      'radiator 20 %': [0.081, 0.001],
      'radiator 100 %': [0.039, 0.001],
    } as const
    const after = await edited(text, fitted)
    expect(after).toBe(`part p {
  package-resistance 0.1100 K/W ± 0.0010 K/W
  correlated leakage block-resistance of d 0.5
}

cooler c kind loop {
  block-resistance 0.0400 K/W ± 0.0010 K/W
  radiator {
    20 %  0.0810 K/W ± 0.0010 K/W
    100 % 0.0390 K/W ± 0.0010 K/W
  }
}
`)
  })

  it('point out comments that call a replaced value a guess', async () => {
    const text = 'part p {\n  switching 2.3 nF   # my guess\n  leakage 18 W at 1.15 V 60 °C # read off\n}\n'
    const { service } = await loadFixture(text)
    const part = service.workspace.view(uri)!.scope.find('part', 'p')!
    const constants = partPlaces('p')
      .slice(0, 2)
      .map((place): FittedConstant => {
        const constant: PriorConstant = { ...place, value: 1, spread: 0.3, from: 'stated' }
        return { constant, value: 2.4, standardUncertainty: 0.1, interval: [0, 0], learned: 0.9 }
      })
    const request = { part, coolers: new Map(), constants, correlation: [], needsSlopes: [], runs: [] }
    const { edits } = fitEdits(request)
    expect(edits.map(({ guess }) => guess)).toEqual([{ label: 'switching', comment: 'my guess' }, undefined])
  })

  it('add a line for what stood there by default', async () => {
    const text = 'part p {\n  switching 2.3 nF\n  leakage 18 W at 1.15 V 60 °C           # a remark\n}\n'
    const after = await edited(text, { switching: [2.4, 0.01], 'leakage-doubling': [27.41, 0.42] })
    expect(after).toBe(`part p {
  switching 2.400 nF ± 0.010 nF
  leakage 18 W at 1.15 V 60 °C           # a remark
  leakage-doubling 27.41 K ± 0.42 K
}
`)
  })

  it('take old correlations of the same constants away and leave others', async () => {
    const text = `part p {
  correlated switching leakage -0.5
  switching 2.3 nF
  leakage 18 W at 1.15 V 60 °C
  correlated idle-power vector-needs 0.3
  correlated leakage idle-power 0.2
}
`
    const after = await edited(text, { switching: [2.4, 0.01], leakage: [20, 1] })
    expect(after).toBe(`part p {
  switching 2.400 nF ± 0.010 nF
  leakage 20.0 W ± 1.0 W at 1.15 V 60 °C
  correlated idle-power vector-needs 0.3
}
`)
  })

  it('fit a part on one line', async () => {
    const after = await edited('part p { switching 2.3 nF; shared-power 3 W }\n', {
      switching: [2.4, 0.01],
      leakage: [1, 0.1],
    })
    expect(after).toBe(
      'part p { switching 2.400 nF ± 0.010 nF; shared-power 3 W; leakage 1.00 W ± 0.10 W at 1.20 V 60 °C }\n',
    )
  })

  it('fit the cooler’s rows by their duty', async () => {
    const text = `part p { switching 2.3 nF }

cooler c kind loop {
  block-resistance 0.04 K/W
  radiator {
    100 % 0.038 K/W
    20 %  80 mK/W
  }
}
`
    const after = await edited(text, {
      'block-resistance': [0.0412, 0.0003],
      'radiator 20 %': [0.0831, 0.0012],
      'radiator 100 %': [0.0392, 0.0004],
    })
    expect(after).toContain('  block-resistance 0.04120 K/W ± 0.00030 K/W\n')
    expect(after).toContain('    100 % 0.03920 K/W ± 0.00040 K/W\n    20 %  83.1 mK/W ± 1.2 mK/W\n')
  })

  it('keep the file’s line ends', async () => {
    const after = await edited('part p {\r\n  switching 2.3 nF\r\n}\r\n', {
      switching: [2.4, 0.01],
      'leakage-doubling': [27, 0.5],
    })
    expect(after).toBe('part p {\r\n  switching 2.400 nF ± 0.010 nF\r\n  leakage-doubling 27.00 K ± 0.50 K\r\n}\r\n')
  })

  it('have the slope of the needs', async () => {
    const slope = { known: true, valueVPerK: 0.00042, standardUncertainty: 0.00003, range: [0.0003, 0.0005] } as const
    expect(await edited('part p {\n  needs-slope 0.3 mV/K\n}\n', {}, [slope])).toBe(
      'part p {\n  needs-slope 0.420 mV/K ± 0.030 mV/K\n}\n',
    )
  })

  it('have the slope of one group in its block', async () => {
    const slope = { known: true, valueVPerK: 0.00042, standardUncertainty: 0.00003, range: [0.0003, 0.0005] } as const
    const text = 'part p {\n  group small {\n    cores 4\n    needs-slope 0.3 mV/K\n  }\n}\n'
    expect(await edited(text, {}, [{ ...slope, group: 'small' }])).toBe(
      text.replace('0.3 mV/K', '0.420 mV/K ± 0.030 mV/K'),
    )
  })

  it('write no line for a constant that was left out and that no run tells', async () => {
    const text = 'part p {\n  switching 2.3 nF\n}\n'
    const values = { switching: [2.4, 0.01], leakage: [18, 9, 0.01], 'idle-power': [13, 2, 0.4] } as const
    expect(await edited(text, values)).toBe(
      'part p {\n  switching 2.400 nF ± 0.010 nF\n  idle-power 13.0 W ± 2.0 W\n}\n',
    )
  })

  it('write what was left out so that it reads: leakage with where it holds, all rows of a table, an empty block', async () => {
    const text = 'part p {\n  cores 8\n}\ncooler c kind loop { }\n'
    const values = {
      leakage: [9.1, 3.1, 0.5],
      'radiator 20 %': [0.09, 0.02, 0.01],
      'radiator 100 %': [0.045, 0.005, 0.5],
    } as const
    const after = await edited(text, values)
    expect(after).toBe(
      'part p {\n  cores 8\n  leakage 9.1 W ± 3.1 W at 1.20 V 60 °C\n}\ncooler c kind loop {\n' +
        '  radiator { 20 % 0.090 K/W ± 0.020 K/W; 100 % 0.0450 K/W ± 0.0050 K/W }\n}\n',
    )
    const codes = (await loadFixture(after)).service.findings(uri).map(({ finding }) => finding.code)
    // The part lacks its limits; everything that was written reads.
    expect(new Set(codes)).toEqual(new Set(['missing-key']))
  })

  it('are missing where nothing was fitted', async () => {
    const text = 'part p {\n  switching 2.3 nF\n}\n'
    expect(await edited(text, {})).toBe(text)
  })
})

describe('the slope of the needs', () => {
  const part = { ...truePart, needs: [{ ratio: 40, voltageV: 1 }], needsAtC: 60 }
  const exact = (value: number) => ({ value, standardUncertainty: 0 })
  const at = (run: string, voltageV: number, dieC: number, held: boolean, of = part) => ({
    ...{ run, part: of, vector: false, held },
    ...{ ratio: exact(40), voltage: exact(voltageV), die: exact(dieC) },
  })

  it('lies between runs that held and runs that did not', () => {
    const found = needsSlope(part, [at('a', 1.012, 80, true), at('b', 1.008, 80, false), at('c', 1.02, 80, true)])
    expect(found).toMatchObject({ known: true })
    if (found.known) {
      expect(found.valueVPerK).toBeCloseTo(0.0005, 9)
      expect(found.standardUncertainty).toBeCloseTo(0.0002 / Math.sqrt(12), 9)
    }
  })

  it('is bounded the other way below the temperature of the needs', () => {
    const found = needsSlope(part, [at('a', 0.992, 40, true), at('b', 0.988, 40, false)])
    expect(found.known && found.valueVPerK).toBeCloseTo(0.0005, 9)
  })

  it('counts what vector loads need on top', () => {
    const own = { ...part, vectorNeedsV: 0.01 }
    const found = needsSlope(
      own,
      [at('a', 1.022, 80, true, own), at('b', 1.018, 80, false, own)].map(one => ({ ...one, vector: true })),
    )
    expect(found.known && found.valueVPerK).toBeCloseTo(0.0005, 9)
  })

  it('is not known from one side, from runs that contradict each other, or at the temperature itself', () => {
    expect(needsSlope(part, [at('a', 1.01, 80, true)])).toMatchObject({ known: false })
    expect(needsSlope(part, [at('a', 1.01, 61, true), at('b', 1.0, 61, false)])).toMatchObject({ known: false })
    expect(needsSlope(part, [at('a', 1.0, 80, true), at('b', 1.02, 80, false)])).toEqual({
      known: false,
      valueVPerK: part.needsSlopeVPerK,
      why: 'b and a contradict each other',
    })
  })

  it('is no surer than the readings that bound it, and their errors are no contradiction', () => {
    const rising = { ...part, needs: [part.needs[0]!, { ratio: 50, voltageV: 1.1 }] }
    const read = (one: ReturnType<typeof at>) => ({
      ...one,
      part: rising,
      ratio: { value: 40, standardUncertainty: 0.1 },
      voltage: { ...one.voltage, standardUncertainty: 0.004 },
      die: { ...one.die, standardUncertainty: 1 },
    })
    // V = 1 + s·20 K; one of the ratio's errors is 1 mV above 40x, and below it half of that with the held first row.
    const found = needsSlope(rising, [read(at('a', 1.012, 80, true)), read(at('b', 1.008, 80, false))])
    const ofNeeds = 0.0005
    const bound = (slope: number): number => Math.hypot(0.004, ofNeeds, slope) / 20
    const width = 0.0002 / Math.sqrt(12)
    const expected = Math.hypot(width, Math.hypot(bound(0.0006), bound(0.0004)) / 2)
    expect(found.known && found.standardUncertainty).toBeCloseTo(expected, 9)
    const crossed = needsSlope(rising, [read(at('a', 1.008, 80, true)), read(at('b', 1.012, 80, false))])
    expect(crossed.known && crossed.valueVPerK).toBeCloseTo(0.0005, 9)
  })

  it.each([
    [{ kind: 'held', forS: 600 }, 70, undefined],
    [{ kind: 'held', forS: 1 }, 70, /less than 10 min/],
    [{ kind: 'stopped', afterS: 60, what: 'hang' }, 70, undefined],
    [{ kind: 'stopped', afterS: 60, what: 'two wrong sums' }, 70, undefined],
    [{ kind: 'stopped', afterS: 60, what: 'the clock froze' }, 70, undefined],
    [{ kind: 'stopped', afterS: 60, what: 'power cut' }, 70, /“power cut” need not be/],
    [{ kind: 'stopped', afterS: 60, what: 'hang' }, truePart.dieLimitC, /at its limit/],
  ] as const)('takes %j at %d °C for what it is', (outcome, dieC, why) => {
    const found = whyNoEvidence(outcome, dieC, truePart)
    if (why === undefined) expect(found).toBeUndefined()
    else expect(found).toMatch(why)
  })
})
