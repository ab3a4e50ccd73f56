import { describe, expect, it } from 'vitest'
import { foundIn } from '../harness/check.ts'
import { loadFixture, uriOf } from '../harness/fixture.ts'
import { demo, edited } from './demo.ts'

/** A line that does not read costs itself alone: nothing is found of the default that stands in its place. */

async function codesOf(text: string): Promise<string[]> {
  return foundIn(await loadFixture(text)).map(({ finding }) => finding.code)
}

describe('a line that does not read', () => {
  const driven = edited(demo('drive-excess'), ['drive full', 'drive dew + 2 K'], ['humidity 3 %', 'humidity 50 %'])

  it('of the drive has its own finding, and none of a plate driven fully', async () => {
    expect(await codesOf(driven)).toEqual([])
    expect(await codesOf(edited(driven, ['drive dew + 2 K', 'drive full']))).toEqual(['condensation', 'drive-excess'])
    expect(await codesOf(edited(driven, ['dew + 2 K', 'dew + 2 °C']))).toEqual(['unit-mismatch'])
    expect(await codesOf(edited(driven, ['drive dew', 'drve dew']))).toEqual(['unknown-word'])
  })

  it('of the bands has its own finding, and none of a clock without them', async () => {
    const short = demo('voltage-short')
    expect(await codesOf(short)).toContain('voltage-short')
    const line = short.split('\n').find(one => /^ {2}voltage/.test(one)) as string
    const broken = short.replace(line, `  bands { 1 to 8 cores above 60 °C +2x }\n${line}`)
    const codes = await codesOf(broken)
    expect(codes).toContain('syntax')
    expect(codes).not.toContain('voltage-short')
  })

  it.each([
    ['part', 'reference 100 MHz', 'reference 100 MHz\n  dei-heat 3 J/K'],
    ['cooler', 'drive-current 14 A', 'drive-current 14 A\n  rating 12 V'],
    ['room', 'humidity 3 %', 'humidity 5 %\n  wind 3'],
  ])('of the %s counts as well', async (_, from, to) => {
    expect(await codesOf(demo('drive-excess'))).toContain('drive-excess')
    expect(await codesOf(edited(demo('drive-excess'), [from, to]))).not.toContain('drive-excess')
  })

  it.each([
    ['note "open', 'syntax'],
    ['expect burn holds => 5', 'syntax'],
    ['also { "memory clock" 3200 }', 'syntax'],
  ])('that changes no figure takes no finding away: %s', async (line, code) => {
    const codes = await codesOf(edited(demo('drive-excess'), ['  voltage', `  ${line}\n  voltage`]))
    expect(codes).toContain('drive-excess')
    expect(codes).toContain(code)
  })

  it('of a load takes that load away and nothing else', async () => {
    const text = edited(demo('drive-excess'), [
      'load burn { cores 1 to 8 }',
      'load burn { cores 1 to 8 }\nload b { cores 8; actvity 3 }',
    ])
    const loaded = await loadFixture(text)
    expect(foundIn(loaded).some(({ finding }) => finding.code === 'drive-excess')).toBe(true)
    expect(foundIn(loaded).some(({ finding }) => finding.load === 'b')).toBe(false)
  })

  it('leaves expectations undecided, and says which line', async () => {
    const text = edited(driven, [
      'drive dew + 2 K',
      'drive dew + 2 °C\n  expect burn die <= 30 °C\n  expect idle plate above dew by 2 K',
    ])
    const { service, files } = await loadFixture(text)
    const found = service.evaluations(uriOf('a.detent')).flatMap(one => service.expectations(one))
    expect(Object.keys(files)).toHaveLength(1)
    expect(found.map(({ holds, undecided }) => [holds, undecided])).toEqual([
      [null, '`drive dew + 2 °C` does not read'],
      [null, '`drive dew + 2 °C` does not read'],
    ])
    expect(await codesOf(text)).toEqual(['unit-mismatch'])
  })

  it('in a profile that another starts from counts there too, and an allow is not called unused meanwhile', async () => {
    const based = `${edited(driven, ['dew + 2 K', 'dew + 2 °C'])}\nprofile night based-on daily { vector -1x }\n`
    expect(await codesOf(based)).toEqual(['unit-mismatch'])
    const allowed = based.replace('vector -1x', 'allow condensation "dry"')
    expect(await codesOf(allowed)).toEqual(['unit-mismatch'])
  })
})
