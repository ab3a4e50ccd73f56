import { fileURLToPath } from 'node:url'
import { beforeAll, describe, expect, it } from 'vitest'
import { evidenceBlocks } from '../../../server/features/report/evidence.ts'
import {
  allFiguresOf,
  createService,
  type Drawable,
  drawnCooling,
  drawnCourse,
  drawnLedger,
  drawnMap,
  drawnWholeCourse,
  type Picture,
  svgFile,
} from '../../../server/service.ts'
import { nodeFiles, uriOfPath } from '../../../server/workspace/node-files.ts'
import { pictureFaults } from '../../charts/faults.ts'
import { memoryFiles } from '../../harness/file-systems.ts'
import { soundSteps, twoGroups } from '../../harness/two-groups.ts'

const folder = fileURLToPath(new URL('../../../grammar/examples/two-kinds/', import.meta.url))
const sizes = [
  { width: 760, height: 640 },
  { width: 420, height: 520 },
]
const [size] = sizes as [(typeof sizes)[number]]

let example: Drawable

beforeAll(async () => {
  const service = createService(nodeFiles)
  const uri = uriOfPath(`${folder}workday.detent`)
  await service.workspace.load([uri])
  const [evaluation] = service.evaluations(uri)
  example = { workspace: service.workspace, evaluation: evaluation! }
})

async function drawableOf(text: string) {
  const uri = 'file:///bench/a.detent'
  const service = createService(memoryFiles({ [uri]: text }))
  await service.workspace.load([uri])
  const [evaluation] = service.evaluations(uri)
  return { service, drawn: { workspace: service.workspace, evaluation: evaluation! } }
}

/** The rows of a picture's table, by the names in its head. */
const rowsOf = ({ figures }: Picture): readonly Readonly<Record<string, unknown>>[] =>
  figures.rows.map(row => {
    expect(row).toHaveLength(figures.head.length)
    return Object.fromEntries(figures.head.map((name, at) => [name, row[at]]))
  })
const textsOf = ({ labels }: Picture): readonly string[] => labels.map(({ text }) => text)

describe('the course of a part with groups', () => {
  const bench = (bands: string): string =>
    twoGroups(
      `${soundSteps}\n${bands}`,
      'load small-alone { cores small 4; activity 0.6 }\ncourse evening { few 3 s; whole 4 s; small-alone 2 s; idle 1 s }\n',
    )

  it('has a clock line for each group that is at work, named at its end, in the figures by name', () => {
    for (const each of sizes) {
      const picture = drawnCourse(example, { size: each, load: 'build', overS: 60 })
      expect(picture && pictureFaults(picture)).toEqual([])
    }
    const picture = drawnCourse(example, { size, load: 'build', overS: 60 }) as Picture
    expect(textsOf(picture)).toEqual(expect.arrayContaining(['broad', 'small']))
    const last = rowsOf(picture).at(-1)
    const settled = allFiguresOf(example.evaluation).find(({ load, air_c }) => load === 'build' && air_c === 27)
    for (const { group, clock_mhz } of settled?.groups ?? [])
      expect(last?.[`clock ${group}, GHz`]).toBeCloseTo((clock_mhz ?? Number.NaN) / 1000, 9)
    // A load of one kind of cores has that clock alone.
    const alone = drawnCourse(example, { size, load: 'copying', overS: 60 }) as Picture
    expect(alone.figures.head.filter(name => name.startsWith('clock'))).toEqual(['clock small, GHz'])
  })

  it('has no clock for a group while it is idle, and the bands of those at work with their names', async () => {
    const { drawn } = await drawableOf(
      bench('  bands broad { 1 to 4 cores above 45 °C -1x }\n  bands small { 1 to 10 cores above 48 °C -2x }'),
    )
    const picture = drawnWholeCourse(drawn, 'evening', { size })
    if (typeof picture === 'string') throw new Error(picture)
    expect(pictureFaults(picture)).toEqual([])
    const clocks = rowsOf(picture).map(row => [row['clock broad, GHz'] !== null, row['clock small, GHz'] !== null])
    expect(clocks.slice(0, 10)).toEqual([
      ...Array.from({ length: 4 }, () => [true, false]),
      ...Array.from({ length: 4 }, () => [true, true]),
      ...Array.from({ length: 2 }, () => [false, true]),
    ])
    const sentences = picture.marks.map(({ sentence }) => sentence)
    expect(sentences).toEqual(
      expect.arrayContaining([
        'Above 45 °C a band gives ratio of broad back.',
        'Above 48 °C a band gives ratio of small back.',
      ]),
    )
  })
})

describe('the ledger of a part with groups', () => {
  it('is one chart for each group, with its own rows and what it is given', () => {
    const { evaluation } = example
    for (const each of sizes) {
      const picture = drawnLedger([example], undefined, each)
      expect(picture && pictureFaults(picture)).toEqual([])
    }
    const picture = drawnLedger([example], undefined, size) as Picture
    expect(picture.height).toBeGreaterThan(2 * size.height)
    const rows = rowsOf(picture)
    for (const { name, needs } of evaluation.input.bench?.part.groups ?? []) {
      const stated = rows.filter(({ what, group }) => what === 'stated' && group === name)
      expect(stated.map(({ ratio, voltage_v }) => [ratio, voltage_v])).toEqual(
        needs.map(({ ratio, voltageV }) => [ratio, voltageV]),
      )
      const given = rows.filter(({ what, group }) => what === 'given' && group === name).map(({ ratio }) => ratio)
      const run = allFiguresOf(evaluation).flatMap(({ groups }) => {
        const own = groups?.find(({ group }) => group === name)
        return own?.ratio_high == null ? [] : [own.ratio_high, own.ratio_low]
      })
      expect(new Set(given)).toEqual(new Set(run))
    }
    // Each mark of the picture is one of its marks: those of the second chart are counted on.
    const numbers = [...picture.body.matchAll(/ data-mark="(\d+)"/g)].map(([, index]) => Number(index))
    expect(numbers).toEqual(picture.marks.map((_, index) => index))
  })

  it('has the trials of each group in its own chart', async () => {
    const run = (name: string, load: string, figures: string): string =>
      `run ${name} of day under ${load} {\n  air 25 °C\n  measured { ${figures}; die 60 °C }\n  held 1 h\n}\n`
    const { service, drawn } = await drawableOf(
      twoGroups(
        soundSteps,
        'load busy-broad { cores broad 4; activity 0.5 }\nload busy-small { cores small 10; activity 0.5 }\n',
      ) +
        run('one', 'busy-broad', 'clock 5.0 GHz; voltage 1.30 V') +
        run('two', 'busy-small', 'clock 4.0 GHz; voltage 1.20 V'),
    )
    const { part } = drawn.evaluation.profile
    const picture = drawnLedger([drawn], service.bench.evidence(part), size) as Picture
    expect(pictureFaults(picture)).toEqual([])
    const held = rowsOf(picture).filter(({ what }) => what === 'held')
    expect(held.map(({ name, group, ratio }) => [name, group, ratio])).toEqual([
      ['one', 'broad', 50],
      ['two', 'small', 40],
    ])
    expect(textsOf(picture).filter(text => text === 'held 1 h')).toHaveLength(2)
    // The report has both charts and a table for each group.
    const blocks = evidenceBlocks('otter-r3', service.bench.evidence(part), [drawn])
    const shown = blocks.flatMap(block => {
      if (block.kind === 'heading') return [block.text]
      if (block.kind === 'pictures') return [`${block.pictures.length} picture`]
      return block.kind === 'table' ? [block.rows.map(([ratio]) => ratio).join(' ')] : []
    })
    expect(shown).toEqual([
      'Voltages of part otter-r3',
      '1 picture',
      'Group broad',
      '46x 50x 53x',
      'Group small',
      '33x 40x',
    ])
  })
})

describe('other charts of a part with groups', () => {
  it('have the figures of each group behind the map, as `predict` has them', () => {
    const rows = rowsOf(drawnMap(example, { size }) as Picture)
    const predicted = allFiguresOf(example.evaluation)
    expect(rows.length).toBeGreaterThan(5)
    for (const row of rows) {
      const one = predicted.find(
        ({ load, air_c, humidity_pct, groups }) =>
          load === row.load &&
          air_c === row.air_c &&
          humidity_pct === row.humidity_pct &&
          groups?.every(({ group, cores }) => row[`cores ${group}`] === cores),
      )
      expect(one?.groups).toHaveLength(2)
      for (const { group, ...own } of one?.groups ?? [])
        for (const key of ['ratio', 'clock_mhz', 'voltage_v', 'need_v', 'core_c'] as const)
          expect(row[`${key} ${group}`], `${key} ${group}`).toBe(own[key])
    }
  })

  it('say in their titles and sentences how many cores of each group are at work', () => {
    const cooling = drawnCooling(example, { size, load: 'browse' }) as Picture
    const course = drawnCourse(example, { size, load: 'browse' }) as Picture
    expect([cooling.title, course.title]).toEqual([
      'workday: twin-fan under browse on 2 cores of broad and 2 of small',
      'workday: browse on 2 cores of broad and 2 of small from an idle bench',
    ])
    expect(svgFile(course)).toContain(`<title>${course.title}</title>`)
    expect(cooling.body).toContain('browse on 2 cores of broad and 2 of small at 27 °C air')
    expect((drawnCooling(example, { size, load: 'copying' }) as Picture).title).toMatch(/copying on 4 cores of small$/)
  })

  it('name the ratio of each group that makes the heat', () => {
    const picture = drawnCooling(example, { size, load: 'build' }) as Picture
    expect(textsOf(picture)).toContain('made at 48x broad, 37x small')
    const [settled] = rowsOf(picture)
    expect([settled?.['ratio broad'], settled?.['ratio small']]).toEqual([48, 37])
    const alone = drawnCooling(example, { size, load: 'copying' }) as Picture
    expect(textsOf(alone)).toContain('made at 39x small')
  })
})
