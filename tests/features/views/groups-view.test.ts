import { expect, it } from 'vitest'
import { clocksData } from '../../../server/features/views/clocks-view.ts'
import { mapData } from '../../../server/features/views/map-view.ts'
import { type Scene, sceneOf } from '../../../server/features/views/scene.ts'
import { finished } from '../../../server/model/index.ts'
import { evaluate } from '../../../server/semantic/evaluate.ts'
import { subjectAt, viewInSlices } from '../../../server/service.ts'
import { loadFixture, uriOf } from '../../harness/fixture.ts'
import { soundSteps, twoGroups } from '../../harness/two-groups.ts'

const few = 'load mix { cores broad 2; cores small 3; activity 0.9; activity small 0.4 }\n'
const bench = `--- a.detent
${twoGroups(
  `${soundSteps}
  bands small return 2 K { 1 to 10 cores above 70 °C -2x }
  voltage { core needs + 20 mV }`,
  few,
)}`

async function scene(): Promise<Scene> {
  const { service } = await loadFixture(bench)
  const view = service.workspace.view(uriOf('a.detent'))
  const day = view?.scope.find('profile', 'day')
  const found = view && day && sceneOf(service.workspace, evaluate(view.scope, day))
  if (found === undefined) throw new Error('there is nothing to draw')
  return found
}

it('each group has its own part of the map, by its own counts, steps and bands', async () => {
  const data = mapData(await scene())
  expect(data?.groups?.map(({ name, columns }) => `${name} ${columns.map(({ cores }) => cores).join(' ')}`)).toEqual([
    'broad 1 2 3 4',
    'small 1 2 3 4 5 6 7 8 9 10',
  ])
  const blocks = data?.blocks.map(({ fromCores, toCores, cells }) => [
    fromCores,
    toCores,
    ...cells.map(({ ratio, toC }) => `${ratio}x to ${toC} °C`),
  ])
  // The fifth place is the first core of small.
  expect(blocks).toEqual([
    [1, 2, '53x to 97 °C'],
    [3, 4, '50x to 97 °C'],
    [5, 14, '40x to 70 °C', '38x to 97 °C'],
  ])
  expect(data?.blocks[2]?.cells[0]?.sentence).toMatch(/^1 to 10 cores of small below 70 °C: 4\.00 GHz/)
  expect(data?.blocks[2]?.returns.map(({ fromC, toC }) => [fromC, toC])).toEqual([[68, 70]])
})

it('a load stands at the count of each group that it keeps busy', async () => {
  const data = mapData(await scene())
  const mix = data?.points.filter(({ load }) => load === 'mix')
  expect(mix?.map(({ cores, group }) => `${group} at ${cores}`)).toEqual(['broad at 2', 'small at 7'])
  expect(new Set(mix?.map(({ warmC }) => warmC)).size).toBe(1)
  expect(mix?.[0]?.sentence).toMatch(/^mix on 2 cores of broad and 3 of small at 25 °C air /)
  expect(mix?.[0]?.sentence).toMatch(/: broad at 5\.30 GHz and [\d.]+ V, small at 4\.00 GHz and /)
  // Load `few` fills the first group alone.
  const filled = data?.points.filter(({ load }) => load === 'few')
  expect(filled?.map(({ cores, group }) => `${group} at ${cores}`)).toEqual(['broad at 2'])
})

it('a picture of one row has the counts of its group alone', async () => {
  const data = mapData(await scene(), { onlyCores: [1, 3], onlyGroups: ['small'] })
  expect([data?.fromCores, data?.toCores]).toEqual([1, 3])
  expect(data?.blocks.map(({ cells }) => cells[0]?.ratio)).toEqual([40])
})

it('each group has a line of clocks', async () => {
  const { lines, figures } = clocksData([await scene()])
  const [first, last] = [figures.rows[0], figures.rows.at(-1)].map(row =>
    Object.fromEntries(figures.head.map((name, at) => [name, row?.[at]])),
  )
  expect(first).toMatchObject({ profile: 'day', group: 'broad', cores: 1 })
  expect(last).toMatchObject({ profile: 'day', group: 'small', cores: 10 })
  expect(lines.map(({ name, points }) => [name, ...points.map(({ clockGhz }) => Number(clockGhz.toFixed(6)))])).toEqual(
    [
      ['day broad', 5.3, 5.3, 5, 5],
      ['day small', ...Array.from({ length: 10 }, () => 4)],
    ],
  )
})

it('the panel and a run name the group whose steps lack a row', async () => {
  const text = `${bench.replace('1 to 10 cores  40x', '1 to 8 cores  40x')}run r of day under whole { measured { power 90 W } }\n`
  const { service, text: textOf } = await loadFixture(text)
  const uri = uriOf('a.detent')
  const subject = subjectAt(service.workspace, service.bench, uri, textOf(uri).indexOf('steps broad'))
  if (subject === undefined) throw new Error('nothing is shown')
  const asked = { kind: 'cooling', load: 'whole', size: { width: 400, height: 300 } } as const
  const why = 'no row of `steps` covers 10 cores of small'
  expect(finished(viewInSlices(service.workspace, service.bench, uri, subject, asked))).toEqual({
    waits: `Not drawn: ${why}.`,
  })
  expect(service.bench.compared(uri).map(({ cannot }) => cannot)).toEqual([why])
})
