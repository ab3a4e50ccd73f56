import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { expect, it } from 'vitest'
import { temporaryFolder } from '../harness/process.ts'
import { detent } from './helpers.ts'

const bench = `detent 1

part p {
  group broad { cores 4; ratio 8x to 58x; needs { 46x 1.09 V; 56x 1.36 V } }
  group small {
    cores 10
    ratio 8x to 44x
    needs { 33x 0.99 V; 42x 1.24 V }
    switching 0.9 nF  # a guess
  }
  reference 100 MHz
  core-voltage 0.65 V to 1.45 V
  die-limit 105 °C
  known {
    4.2 GHz 1.05 V 73.4 W 53.3 °C cores broad 4 plate 38 °C
    5.1 GHz 1.24 V 108.7 W 64.9 °C cores broad 4 plate 44 °C
    5.4 GHz 1.31 V 81.2 W 53.9 °C cores broad 2 plate 36 °C
    3.2 GHz 0.98 V 51.3 W 42.4 °C cores small 10 plate 35 °C
    4.0 GHz 1.19 V 80.0 W 54.2 °C cores small 10 plate 42 °C
    4.2 GHz 1.26 V 55.7 W 43.6 °C cores small 4 plate 33 °C
  }
}
`
const read = (folder: string, name: string): string => readFileSync(join(folder, name), 'utf8')

it('writes the constants of each group where they stand, and takes them for its own the next time', async () => {
  using folder = temporaryFolder({ 'a.detent': bench })
  const { code, err } = await detent(folder.path, ['fit', 'a.detent', '--write'])
  expect([code, err.includes('the comment still calls switching of small a guess')]).toEqual([0, true])
  const text = read(folder.path, 'a.detent')
  expect(text).toMatch(/group broad \{ cores 4; .* \}; switching \d\.\d+ nF ± 0\.\d+ nF; .* \}\n/)
  expect(text).toMatch(/\n {4}switching 0\.\d+ nF ± 0\.\d+ nF {2}# a guess\n/)
  const companion = read(folder.path, 'p.fitted.detent')
  expect(companion).toMatch(/constant switching of broad \d\.\d+ nF ± \d\.\d+ nF from 2 nF ± 0\.\d+ nF usual\n/)
  expect(companion).toMatch(/constant switching of small .* from 0\.9 nF/)
  expect(companion).toMatch(/correlated switching of broad [a-z-]+(?: of \w+)? -?0\.\d+\n/)
  const { out } = await detent(folder.path, ['check', 'a.detent', 'p.fitted.detent'])
  expect(out).not.toMatch(/error|unknown/)
  await detent(folder.path, ['fit', 'a.detent', '--write'])
  expect(read(folder.path, 'a.detent')).toBe(text)
  expect(read(folder.path, 'p.fitted.detent')).toBe(companion)
})

it('asks for the group where a constant of each is named without it', async () => {
  using folder = temporaryFolder({ 'a.detent': bench })
  const { code, err } = await detent(folder.path, ['fit', 'a.detent', '--free', 'switching'])
  expect([code, err]).toEqual([
    2,
    'detent: The part has groups of cores: for switching say "switching of broad" or "switching of small".\n',
  ])
})

it('frees the constant of one group by its name', async () => {
  using folder = temporaryFolder({ 'a.detent': bench })
  const { out } = await detent(folder.path, ['fit', 'a.detent', '--free', 'switching of small', '--output', 'json'])
  const { parameters } = JSON.parse(out) as { readonly parameters: readonly { readonly name: string }[] }
  expect(parameters.map(({ name }) => name)).toEqual(['switching of small'])
})
