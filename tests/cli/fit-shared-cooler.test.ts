import { readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { temporaryFolder } from '../harness/process.ts'
import { detent } from './helpers.ts'

/** Two parts share a cooler and are fitted in turn: what the points of each say of the cooler counts once. */

const cooler = 'detent 1\n\ncooler wide-loop kind loop { }\n'

const rest = `board plain { core-voltage-step 5 mV }
room hall { air 21 °C; humidity 40 % }
load all { cores 8 }
`
const partOf = (name: string, rows: string, offset: number): string => `detent 1
use "cooler.detent"

part ${name} {
  cores 8
  reference 100 MHz
  ratio 8x to 60x
  core-voltage 0.7 V to 1.5 V
  die-limit 105 °C
  known {
${rows}  }
}
${rest}
profile day-${name} {
  part ${name}
  cooler wide-loop
  board plain
  room hall
  steps { 1 to 8 cores ${40 + offset}x }
  fan { 30 °C 100 % }
}
`
/** By hand: a loop of 0.05 K/W at the radiator and 0.05 K/W at the block, seen to the digits of an instrument. */
const rows = (powers: readonly number[], voltages: readonly number[], airC: number): string =>
  powers
    .map((powerW, at) => {
      const coolantC = airC + 0.05 * powerW
      const plateC = coolantC + 0.05 * powerW
      const dieC = plateC + 0.14 * powerW
      const read = [`${(4 + 0.2 * at).toFixed(1)} GHz`, `${voltages[at]} V`, `${powerW} W`, `${dieC.toFixed(1)} °C`]
      return `    ${read.join(' ')} plate ${plateC.toFixed(1)} °C coolant ${coolantC.toFixed(1)} °C air ${airC} °C fan 100 %\n`
    })
    .join('')

const files = {
  'cooler.detent': cooler,
  'one.detent': partOf('one', rows([150, 172, 196, 225], [1.05, 1.1, 1.15, 1.2], 21), 0),
  'two.detent': partOf('two', rows([120, 139, 160, 186], [1.0, 1.05, 1.1, 1.16], 23), 1),
}

interface Constant {
  readonly name: string
  readonly before: number
  readonly before_factor: number
  readonly value: number
  readonly standard_uncertainty: number
}

const fitted = async (folder: string, part: string, ...args: string[]) => {
  const { out, err } = await detent(folder, ['fit', `${part}.detent`, '--part', part, '--output', 'json', ...args])
  const found = JSON.parse(out) as { parameters: readonly Constant[]; changed: readonly string[] }
  const radiator = found.parameters.find(({ name }) => name === 'radiator 100 %')!
  return { radiator, changed: found.changed, err }
}
const shareOf = ({ value, standard_uncertainty }: Constant): number => standard_uncertainty / value

describe('two parts on one cooler', () => {
  it('fitted in turn, again and again, count the points of each once', { timeout: 180_000 }, async () => {
    using folder = temporaryFolder(files)
    const alone = {
      one: (await fitted(folder.path, 'one')).radiator,
      two: (await fitted(folder.path, 'two')).radiator,
    }
    // By hand: precisions of independent knowledge add up, and what was known before is in both.
    const before = Math.log(alone.one.before_factor) ** -2
    const together = shareOf(alone.one) ** -2 + shareOf(alone.two) ** -2 - before
    await fitted(folder.path, 'one', '--write')
    const second = (await fitted(folder.path, 'two', '--write')).radiator
    expect(shareOf(second) * Math.sqrt(together)).toBeGreaterThan(0.8)
    expect(shareOf(second) * Math.sqrt(together)).toBeLessThan(1.2)
    for (let round = 0; round < 3; round++)
      for (const part of ['one', 'two']) {
        const { radiator, changed } = await fitted(folder.path, part, '--write')
        expect(changed).toEqual([])
        // Counted again, it would have fallen to two thirds by the last round.
        expect(shareOf(radiator) / shareOf(second), `${part}, again ${round}`).toBeGreaterThan(0.9)
        expect(shareOf(radiator) / shareOf(second), `${part}, again ${round}`).toBeLessThan(1.1)
        expect(Math.abs(radiator.value / second.value - 1)).toBeLessThan(0.5 * shareOf(second))
      }
  })

  it('start from the other’s points and not from their own', { timeout: 120_000 }, async () => {
    using folder = temporaryFolder(files)
    const alone = (await fitted(folder.path, 'two')).radiator
    await fitted(folder.path, 'one', '--write')
    const companion = (): string => readFileSync(join(folder.path, 'one.fitted.detent'), 'utf8')
    const line = /constant radiator 100 % of wide-loop .*/
    const first = line.exec(companion())?.[0]
    expect(first).toMatch(/ usual$/)
    const { err } = await fitted(folder.path, 'two', '--write')
    expect(err).toContain('one.fitted.detent: ')
    // What the points of the other said is what was known before its own.
    expect(line.exec(companion())?.[0]).not.toMatch(/ usual$/)
    const again = (await fitted(folder.path, 'one')).radiator
    expect(again.before / alone.value).toBeCloseTo(1, 1)
    expect(Math.log(again.before_factor) / shareOf(alone)).toBeGreaterThan(0.7)
    expect(Math.log(again.before_factor) / shareOf(alone)).toBeLessThan(1.3)
    expect(await detent(folder.path, ['check', '.'])).toMatchObject({ out: expect.not.stringContaining('error') })
  })

  it('leave alone what was changed by hand since', { timeout: 120_000 }, async () => {
    using folder = temporaryFolder(files)
    await fitted(folder.path, 'one', '--write')
    const path = join(folder.path, 'cooler.detent')
    const changed = readFileSync(path, 'utf8').replace(/(100 %\s+)\S+ K\/W ± \S+ K\/W/, '$10.060 K/W ± 0.012 K/W')
    writeFileSync(path, changed)
    const before = readFileSync(join(folder.path, 'one.fitted.detent'), 'utf8')
    const line = /constant radiator 100 % of wide-loop .*/
    await fitted(folder.path, 'two', '--write')
    const after = readFileSync(join(folder.path, 'one.fitted.detent'), 'utf8')
    expect(line.exec(after)?.[0]).toBe(line.exec(before)?.[0])
    expect((await fitted(folder.path, 'one')).changed).toContain('radiator 100 %')
  })
})
