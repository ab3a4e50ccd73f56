import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { temporaryFolder } from '../harness/process.ts'
import { benchText, detent } from './helpers.ts'

/** What `detent fit` says and writes; that it finds the constants is held elsewhere. */

interface Fit {
  readonly parameters: readonly {
    readonly name: string
    readonly value: number
    readonly standard_uncertainty: number | null
    readonly interval_95: readonly [number, number] | null
    readonly fitted: boolean
    readonly why: string | null
  }[]
  readonly held: readonly { readonly name: string; readonly value: number }[]
  readonly correlations: readonly { readonly first: string; readonly second: string; readonly value: number }[]
}

const loads = '\nload one { cores 1; activity 0.8 }\nload half { cores 2; activity 0.3 }\n'
/** Figures that no part has exactly, so that something is left to scatter. */
const measured: readonly (readonly [load: string, lines: string])[] = [
  ['work', 'clock 4.600 GHz; voltage 1.140 V; power 94.9 W; die 51.8 °C'],
  ['one', 'clock 4.600 GHz; voltage 1.140 V; power 35.1 W; die 35.3 °C'],
  ['half', 'clock 4.600 GHz; voltage 1.140 V; power 35.3 W; die 30.2 °C'],
  ['work', 'clock 4.600 GHz; voltage 1.060 V; power 82.9 W; die 47.6 °C'],
]
const run = (name: string, load: string, lines: string, rest = ''): string =>
  `\nrun ${name} of daily under ${load} {\n  air 20 °C\n  humidity 40 %\n  measured { ${lines} }\n${rest}}\n`
const runs = measured.map(([load, lines], at) => run(`r-${at}`, load, lines)).join('')
const bench = benchText() + loads + runs

const refit = (folder: string, ...args: string[]) => detent(folder, ['fit', 'a.detent', '--part', 'sample', ...args])
const json = async (folder: string, ...args: string[]): Promise<Fit> =>
  JSON.parse((await refit(folder, ...args, '--output', 'json')).out) as Fit

describe('a fit that is printed', () => {
  it('has intervals, the strong correlations, and what was held', async () => {
    using folder = temporaryFolder({ 'a.detent': bench })
    const asked = ['--free', 'switching,shared-power']
    const { out } = await refit(folder.path, ...asked)
    const { parameters, correlations, held } = await json(folder.path, ...asked)
    expect(parameters.map(({ name, fitted }) => [name, fitted])).toEqual([
      ['switching', true],
      ['shared-power', true],
    ])
    for (const { value, interval_95, standard_uncertainty } of parameters) {
      const [low, high] = interval_95!
      // From draws of the posterior: not quite even about the middle.
      expect(low).toBeLessThan(value)
      expect(high).toBeGreaterThan(value)
      expect((high - low) / 2).toBeGreaterThan(1.6 * standard_uncertainty!)
    }
    expect(out).toMatch(/95 % interval/)
    expect(out).toMatch(/^switching .* \d\.\d+ to \d\.\d+ +\d+ %$/m)
    const [pair] = correlations
    const plain = out.replace(/\s+/g, ' ')
    expect(plain).toContain(
      Math.abs(pair!.value) < 0.5
        ? 'no two of them are strongly correlated (|r| of 0.5 or more)'
        : `correlations of 0.5 or more: switching and shared-power ${pair!.value.toFixed(2)}; all 1 are in JSON`,
    )
    // In the part's order, and then the coolers'.
    const names = ['leakage', 'leakage-doubling', 'leakage-exponent', 'package-resistance', 'core-resistance']
    expect(held.map(({ name }) => name)).toEqual([...names, 'block-resistance', 'radiator 100 %'])
    expect(plain).toContain(`held as stated, their ± carried to the others: ${names.join(', ')}, block-resistance,`)
  })

  it('writes constants into their files, and beside them what was known before, the runs and the correlations', async () => {
    using folder = temporaryFolder({ 'a.detent': bench })
    const asked = ['--free', 'switching,shared-power', '--write']
    const first = await refit(folder.path, ...asked)
    expect(first.err).toContain('a.detent: 2 constants written\n')
    expect(first.err).toContain('sample.fitted.detent: 1 correlation written\n')
    const text = readFileSync(join(folder.path, 'a.detent'), 'utf8')
    expect(text).not.toContain('correlated')
    expect(text).toContain('use "sample.fitted.detent"\n')
    const beside = readFileSync(join(folder.path, 'sample.fitted.detent'), 'utf8')
    expect(beside.match(/^ *correlated switching shared-power -0\.\d{3}$/gm)).toHaveLength(1)
    expect(beside.match(/^ *counted r-\d$/gm)).toHaveLength(4)
    expect(await detent(folder.path, ['check', '.'])).toMatchObject({ out: expect.not.stringContaining('error') })
  })
})

describe('a second fit', () => {
  const free = ['--free', 'switching,shared-power']
  const read = (folder: string): readonly string[] =>
    ['a.detent', 'sample.fitted.detent'].map(name => readFileSync(join(folder, name), 'utf8'))

  it('of the same runs changes nothing', async () => {
    using folder = temporaryFolder({ 'a.detent': bench })
    await refit(folder.path, ...free, '--write')
    const first = read(folder.path)
    const again = await refit(folder.path, ...free, '--write')
    expect(again.err).toBe('Nothing to change: the values contain these runs already.\n')
    expect(read(folder.path)).toEqual(first)
  })

  it('with another run finds what one fit of them all finds', async () => {
    const more = run('r-9', 'half', 'clock 4.600 GHz; voltage 1.060 V; power 31.2 W; die 28.9 °C')
    using folder = temporaryFolder({ 'a.detent': bench })
    await refit(folder.path, ...free, '--write')
    const [now, beside] = read(folder.path)
    using later = temporaryFolder({ 'a.detent': now! + more, 'sample.fitted.detent': beside! })
    using whole = temporaryFolder({ 'a.detent': bench + more })
    const [onward, atOnce] = [await json(later.path, ...free), await json(whole.path, ...free)]
    expect(atOnce.parameters).toHaveLength(2)
    atOnce.parameters.forEach(({ value, standard_uncertainty: u }, at) => {
      const other = onward.parameters[at]!
      expect(Math.abs(other.value - value)).toBeLessThan(0.1 * u!)
      expect(other.standard_uncertainty! / u!).toBeCloseTo(1, 1)
    })
  })

  it('points out a comment that calls a replaced value a guess', async () => {
    using folder = temporaryFolder({ 'a.detent': bench.replace(/(\n *switching \S+ nF[^\n]*)/, '$1 # a rough guess') })
    const { err } = await refit(folder.path, ...free, '--write')
    expect(err).toContain('a.detent: the comment still calls switching a guess: "a rough guess"\n')
  })

  it('says which runs count no more, and what was changed by hand', async () => {
    using folder = temporaryFolder({ 'a.detent': bench })
    await refit(folder.path, ...free, '--write')
    const [now, beside] = read(folder.path)
    const changed = now!.replace(/switching \S+ nF/, 'switching 2.05 nF')
    expect(changed).not.toBe(now)
    using later = temporaryFolder({ 'a.detent': changed, 'sample.fitted.detent': beside! })
    const { out } = await refit(later.path, ...free, '--runs', 'r-0,r-1,r-2')
    const plain = out.replace(/\s+/g, ' ')
    expect(plain).toContain('r-3 is in the values so far, and does not count here')
    expect(plain).toContain('changed by hand since a fit wrote it, so what is stated counts as known before: switching')
    expect(out).toMatch(/^switching +2\.05 /m)
  })

  it('keeps what else stands in the file, and takes one up that nothing uses', async () => {
    using folder = temporaryFolder({ 'a.detent': bench, 'sample.fitted.detent': '\u0000' })
    await refit(folder.path, ...free, '--write')
    expect(read(folder.path)[1]).toContain('\u0000')
    expect(read(folder.path)[1]).toContain('fitted sample {')
    const [now, beside] = read(folder.path)
    using later = temporaryFolder({
      'a.detent': now!.replace('use "sample.fitted.detent"\n', ''),
      'sample.fitted.detent': beside!,
    })
    await refit(later.path, ...free, '--write')
    expect(read(later.path)[0]).toContain('use "sample.fitted.detent"\n')
    expect(read(later.path)[1]!.match(/^fitted sample/gm)).toHaveLength(1)
  })
})

describe('--free', () => {
  const two = `${bench}
cooler other kind air { block-resistance 0.05 K/W; radiator { 100 % 0.1 K/W } }
profile second based-on daily { cooler other }
${run('r-9', 'work', measured[0]![1]).replace('of daily', 'of second')}`

  it.each([
    [
      bench,
      'switching,magic',
      /^detent: There is no constant magic to fit; there are switching, leakage, .*, needs-slope\.\n$/,
    ],
    [bench, ',', /^detent: --free names no constant: separate the names by commas\.\n$/],
    [two, 'block-resistance', /say "block-resistance of other" or "block-resistance of tower"/],
  ] as const)('hears what is wrong with it', async (text, free, message) => {
    using folder = temporaryFolder({ 'a.detent': text })
    const { code, err } = await refit(folder.path, '--free', free)
    expect(code).toBe(2)
    expect(err).toMatch(message)
  })

  it.each(['block-resistance', 'block-resistance of tower'])('takes %s where there is one cooler', async name => {
    using folder = temporaryFolder({ 'a.detent': bench })
    const { err, out } = await refit(folder.path, '--free', `switching,${name}`)
    expect(err).toBe('')
    expect(out).toMatch(/^block-resistance /m)
  })
})

describe('the slope of the needs', () => {
  const needs = (voltage: string, end: string): string =>
    run(`n-${voltage.replace('.', '-')}`, 'work', `clock 4.600 GHz; voltage ${voltage} V; die 80 °C`, `  ${end}\n`)
  const ends = needs('1.140', 'held 30 min') + needs('1.128', 'stopped after 12 min "hang"')

  it('can be asked for alone, with the errors of the readings in its uncertainty', async () => {
    using folder = temporaryFolder({ 'a.detent': bench + ends })
    const { parameters } = await json(folder.path, '--free', 'needs-slope')
    expect(parameters).toHaveLength(1)
    expect(parameters[0]).toMatchObject({ name: 'needs-slope', fitted: true, why: null })
    // 46x needs 1.120 V at 60 °C: at most 20 mV more at 80 °C, and more than 8 mV.
    expect(parameters[0]!.value).toBeCloseTo(0.0007, 9)
    const digit = (step: number): number => step / Math.sqrt(12)
    const ofRatio = 0.02 * Math.hypot(0.0005 * 46, digit(0.01))
    const bound = (slope: number): number =>
      Math.hypot(0.005, digit(0.001), ofRatio, slope * Math.hypot(1, digit(1))) / 20
    const ofReadings = Math.hypot(bound(0.001), bound(0.0004))
    expect(parameters[0]!.standard_uncertainty).toBeCloseTo(Math.hypot(0.0006 / Math.sqrt(12), ofReadings / 2), 9)
    expect((await refit(folder.path, '--free', 'needs-slope', '--write')).err).toContain(
      'a.detent: 1 constant written\n',
    )
  })

  it('is reported and written beside a constant that the runs hardly tell', async () => {
    using folder = temporaryFolder({ 'a.detent': benchText() + ends })
    const asked = ['--runs', 'n-1-140,n-1-128', '--free', 'leakage-exponent,needs-slope']
    const { out, code } = await refit(folder.path, ...asked, '--output', 'json')
    const { parameters } = JSON.parse(out) as Fit
    expect(code).toBe(0)
    expect(parameters.find(({ name }) => name === 'needs-slope')).toMatchObject({ fitted: true })
    // Nothing is refused: the exponent keeps what was known of it, and is written with that.
    expect((await refit(folder.path, ...asked, '--write')).err).toContain('a.detent: 2 constants written\n')
  })

  it('stands in JSON with the reason where it is left alone', async () => {
    using folder = temporaryFolder({ 'a.detent': bench + ends.replace('"hang"', '"power cut"') })
    const { parameters } = await json(folder.path)
    expect(parameters.at(-1)).toMatchObject({
      name: 'needs-slope',
      value: 0,
      standard_uncertainty: null,
      fitted: false,
    })
    expect(parameters.at(-1)?.why).toContain('it takes a run that held for 10 min or more')
    const { out, code } = await refit(folder.path, '--free', 'needs-slope')
    expect(code).toBe(1)
    expect(out.replace(/\s+/g, ' ')).toContain('not counted: n-1-128 (“power cut” need not be for lack of voltage)')
  })
})

describe('fit without --part', () => {
  it('takes the part where there is one, and asks which where there are several', async () => {
    using folder = temporaryFolder({ 'a.detent': benchText() })
    const one = await detent(folder.path, ['fit', 'a.detent'])
    expect(one.out).toContain('fit of part sample')
    expect(one.err).not.toContain('--part')
    using several = temporaryFolder({
      'a.detent': benchText().replace('cooler tower', 'part other { cores 2 }\ncooler tower'),
    })
    const { code, err } = await detent(several.path, ['fit', 'a.detent'])
    expect({ code, err }).toEqual({
      code: 2,
      err: 'detent: a.detent and the files it uses have several parts, sample, other: name one with --part.\n',
    })
    using none = temporaryFolder({ 'a.detent': 'detent 1\n' })
    expect((await detent(none.path, ['fit', 'a.detent'])).err).toBe(
      'detent: There is no part in a.detent or the files it uses.\n',
    )
  })
})
