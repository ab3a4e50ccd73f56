import { expect, it } from 'vitest'
import { temporaryFolder } from '../harness/process.ts'
import { soundSteps, twoGroups } from '../harness/two-groups.ts'
import { detent } from './helpers.ts'

interface Row {
  readonly profile: string
  readonly load: string
  readonly groups: readonly {
    cores: number
    clock_mhz: number | null
    voltage_v: number | null
    current_a: number | null
  }[]
}

it('a report has the counts, clocks and volts of each group of cores', async () => {
  const small = 'load small-alone { cores small 4; activity 0.6 }\n'
  const night = `profile night based-on day { steps small { 1 to 10 cores 30x } }\n`
  using folder = temporaryFolder({ 'a.detent': `${twoGroups(soundSteps, small)}${night}` })
  const { out } = await detent(folder.path, ['report', '--output', 'markdown'])
  const { out: json } = await detent(folder.path, ['predict', '--output', 'json'])
  const { predictions } = JSON.parse(json) as { predictions: readonly Row[] }
  const own = out.slice(out.indexOf('## Profile day'), out.indexOf('## Profile night'))
  const settled = own.slice(own.indexOf('### What each load'))
  const busy = predictions.filter(({ profile, load }) => profile === 'day' && load !== 'idle')
  expect(busy.map(({ load }) => load)).toEqual(['few', 'small-alone', 'whole'])
  for (const { load, groups } of busy) {
    const cell = (text: (own: Row['groups'][number]) => string): string =>
      groups.map(one => (one.cores === 0 ? '–' : text(one))).join(' / ')
    const cells = settled
      .split('\n')
      .filter(line => line.startsWith(`| ${load} `))
      .flatMap(line => line.split('|').map(one => one.trim()))
    expect(cells).toEqual(
      expect.arrayContaining([
        cell(({ cores }) => `${cores}`),
        cell(({ clock_mhz }) => `${clock_mhz?.toFixed(0)}`),
        cell(({ voltage_v }) => `${voltage_v?.toFixed(3)}`),
        cell(({ current_a }) => `${current_a?.toFixed(1)}`),
      ]),
    )
  }
  expect(settled).toContain('`/` separates the groups of cores')
  expect(settled).toMatch(/\| idle +\| – +\| 25 °C, 48 % +\| – +\|/)
  expect(own).toContain(
    '- whole on 4 cores of broad and 10 of small at 25 °C air and 48 % humidity, from an idle bench: ',
  )
  expect(own).toMatch(/broad 5000 MHz and small 4000 MHz throughout/)
  expect(own).toMatch(/small-alone on 4 cores of small at .*: small 4000 MHz throughout/)
  const front = out.slice(0, out.indexOf('## Profile'))
  expect(front).toMatch(/\| day +\| whole +\| 4 \/ 10 +\| 5000 \/ 4000 +\|/)
  expect(front).toMatch(/\| night +\| small-alone +\| – \/ 4 +\| – \/ 3000 +\|/)
})

it('a report follows the clock of each group that gives ratio back', async () => {
  const bands = '\n  bands small return 2 K { 1 to 10 cores above 50 °C -4x }'
  using folder = temporaryFolder({ 'a.detent': twoGroups(`${soundSteps}${bands}`) })
  const { out } = await detent(folder.path, ['report', '--output', 'markdown'])
  const [, head = ''] = /\*\*whole on 4 cores of broad and 10 of small[^*]*\*\*\n\n([\s\S]*?)\n\n###/.exec(out) ?? []
  expect(head).toContain('clock broad, MHz')
  expect(head).toContain('clock small, MHz')
})
