import { fileURLToPath } from 'node:url'
import { beforeAll, describe, expect, it } from 'vitest'
import { svgDataUri } from '../../../server/charts/style.ts'
import { drawnClocks } from '../../../server/features/views/index.ts'
import {
  allFiguresOf,
  createService,
  type Drawable,
  drawnCooling,
  drawnCourse,
  drawnMap,
  drawnRun,
  drawnWholeCourse,
  loadsToDraw,
  type Picture,
  type Service,
  subjectAt,
  svgFile,
} from '../../../server/service.ts'
import { nodeFiles, uriOfPath } from '../../../server/workspace/node-files.ts'
import { pictureFaults } from '../../charts/faults.ts'
import { nodeLogs } from '../../harness/file-systems.ts'

const folder = fileURLToPath(new URL('../../../grammar/examples/bench/', import.meta.url))
const names = ['heavy-work', 'light-work', 'plate-stack', 'cold-tank']
const size = { width: 760, height: 480 }
const small = { width: 360, height: 110 }
const narrow = { width: 420, height: 420 }

let service: Service
let drawables: readonly Drawable[]
const runsFile = uriOfPath(`${folder}runs.detent`)

beforeAll(async () => {
  service = createService(nodeFiles, { logs: nodeLogs })
  await service.workspace.load([...names.map(name => uriOfPath(`${folder}${name}.detent`)), runsFile])
  drawables = names.flatMap(name => {
    const uri = uriOfPath(`${folder}${name}.detent`)
    return service.evaluations(uri).map(evaluation => ({ workspace: service.workspace, evaluation }))
  })
})

const drawable = (name: string): Drawable =>
  drawables.find(one => one.evaluation.profile.definition.name === name) as Drawable
/** How many dots of measured values a picture has. */
const dotsIn = ({ body }: Picture): number =>
  [...body.matchAll(/class="dots" d="([^"]*)"/g)].reduce((sum, [, d = '']) => sum + (d.match(/h0/g)?.length ?? 0), 0)
const column = ({ figures }: Picture, name: string): readonly (string | number | null)[] => {
  const at = figures.head.indexOf(name)
  expect(at, name).toBeGreaterThanOrEqual(0)
  return figures.rows.map(row => row[at] ?? null)
}

describe('every chart of the example bench', () => {
  it('has labels that lie clear of each other and inside the picture, in three sizes', () => {
    let drawn = 0
    for (const one of drawables) {
      for (const load of loadsToDraw(one.evaluation)) {
        for (const each of [size, small, narrow]) {
          for (const picture of [drawnMap(one, { size: each, load }), drawnCooling(one, { size: each, load })]) {
            expect(picture && pictureFaults(picture), `${picture?.title} ${each.width}`).toEqual([])
            drawn++
          }
        }
      }
    }
    expect(drawn).toBeGreaterThan(80)
  })

  it('names both axes with their units, in words', () => {
    const words = (picture: Picture | undefined) => picture?.labels.map(({ text }) => text) ?? []
    const one = drawable('winter')
    expect(words(drawnMap(one, { size }))).toEqual(expect.arrayContaining(['die temperature, °C', 'active cores']))
    expect(words(drawnCooling(one, { size }))).toEqual(expect.arrayContaining(['plate temperature, °C', 'heat, W']))
    expect(words(drawnCourse(one, { size, load: 'render' }))).toEqual(
      expect.arrayContaining(['clock, GHz', 'power, W', 'temperature, °C', 'time, min']),
    )
  })

  it('is the same text each time', () => {
    for (const draw of [drawnMap, drawnCooling]) {
      const [first, again] = [draw(drawable('winter'), { size }), draw(drawable('winter'), { size })]
      expect(first && svgFile(first)).toBe(again && svgFile(again))
    }
  })

  it('weighs little enough for a hover', () => {
    for (const one of drawables) {
      for (const picture of [drawnMap(one, { size: small }), drawnCooling(one, { size: small })]) {
        expect(picture && svgDataUri(picture).length).toBeLessThan(30_000)
      }
    }
  })
})

describe('the operating map', () => {
  it('has the figures of the predictions, digit by digit', () => {
    for (const one of drawables) {
      const picture = drawnMap(one, { size }) as Picture
      const predicted = allFiguresOf(one.evaluation)
      for (const key of ['clock_mhz', 'die_c', 'power_w', 'margin_w', 'voltage_v'] as const) {
        expect(column(picture, key)).toEqual(predicted.map(row => row[key]))
      }
    }
  })

  it('says the clock of each cell, and where the line stands that sets it', () => {
    const one = drawable('winter')
    const picture = drawnMap(one, { size }) as Picture
    const cell = picture.marks.find(({ sentence }) => sentence.startsWith('1 to 2 cores below'))
    // 57x of 100 MHz, and 1x less above 50 °C: `steps` and `bands` of the profile.
    expect(cell?.sentence).toContain('5.70 GHz (57x)')
    const text = service.workspace.document(cell?.place?.uri ?? '')?.source.text ?? ''
    expect(text.slice(cell?.place?.start, cell?.place?.end)).toMatch(/^1 to 2 cores\s+57x$/)
    const band = picture.marks.find(({ sentence }) => sentence.startsWith('1 to 2 cores from 50 °C'))
    expect(band?.sentence).toContain('5.60 GHz (56x)')
    expect(text.slice(band?.place?.start, band?.place?.end)).toMatch(/above 50 °C\s+-1x$/)
  })

  it('gives the ring to the load with the least margin', () => {
    const one = drawable('winter')
    const least = Math.min(
      ...allFiguresOf(one.evaluation).flatMap(({ cores, margin_w }) => (cores > 0 ? (margin_w ?? []) : [])),
    )
    const { labels, body } = drawnMap(one, { size }) as Picture
    expect(body.match(/class="ring"/g)).toHaveLength(1)
    expect(labels.map(({ text }) => text)).toContain(`render: margin ${least.toFixed(0)} W`)
  })

  it('draws the edges of another profile beside its own', () => {
    const [own, other] = [drawable('summer'), drawable('winter')]
    const alone = drawnMap(own, { size }) as Picture
    const beside = drawnMap(own, { size, against: { ...other, label: 'winter' } }) as Picture
    expect(alone.body).not.toContain('class="thin"')
    expect(beside.body).toContain('class="thin"')
    expect(beside.labels.map(({ text }) => text)).toContain('dashed: winter')
  })

  it('follows the conditions that are asked for', () => {
    const warm = drawnMap(drawable('light-work'), { size, whatIf: { airC: 40 } }) as Picture
    expect(warm.title).toContain('what if')
    expect(new Set(column(warm, 'air_c'))).toEqual(new Set([40]))
  })
})

describe('the cooling chart', () => {
  it('settles where the heat made meets the heat carried', () => {
    for (const one of drawables) {
      for (const load of loadsToDraw(one.evaluation)) {
        const { rows } = (drawnCooling(one, { size, load }) as Picture).figures
        const [, ratio, heatW, plateC] = rows.find(([curve]) => curve === 'settled') ?? []
        const carried = rows
          .filter(([curve]) => curve === 'carried')
          .map(([, , heat, plate]) => [Number(heat), Number(plate)] as const)
        const next = carried.findIndex(([heat]) => heat > Number(heatW))
        const [a, b] = [carried[next - 1] ?? [0, 0], carried[next] ?? [0, 0]]
        const straight = a[1] + ((b[1] - a[1]) * (Number(heatW) - a[0])) / (b[0] - a[0])
        expect(Math.abs(straight - Number(plateC)), `${load} at ${ratio}`).toBeLessThan(0.3)
      }
    }
  })

  it('has its edge at the settled heat and the margin, and what leakage adds to them', () => {
    for (const one of drawables) {
      const { rows } = (drawnCooling(one, { size, load: 'render' }) as Picture).figures
      const settledW = Number(rows.find(([curve]) => curve === 'settled')?.[2])
      const edgeW = Number(rows.find(([curve]) => curve === 'edge')?.[2])
      const margins = allFiguresOf(one.evaluation).flatMap(({ load, margin_w }) =>
        load === 'render' ? (margin_w ?? []) : [],
      )
      expect(edgeW).toBeGreaterThanOrEqual(settledW + Math.min(...margins) - 1e-6)
      const plateC = Number(rows.find(([curve]) => curve === 'edge')?.[3])
      expect(Number.isFinite(plateC)).toBe(true)
    }
  })

  it('says what ends the margin in its label', () => {
    const picture = drawnCooling(drawable('winter'), { size, load: 'render' }) as Picture
    expect(
      picture.labels.map(({ text }) => text).filter(text => /^(?:die limit|tips) at \d+ W$/.test(text)),
    ).toHaveLength(1)
  })

  it('shows dew point and drive target of a plate that is driven, and neither of a tower', () => {
    const words = (name: string) =>
      (drawnCooling(drawable(name), { size, load: 'render' }) as Picture).labels.map(({ text }) => text).join('; ')
    expect(words('winter')).toMatch(/dew point \d.*|frost point/)
    expect(words('winter')).toContain('drive dew + 2 K')
    expect(words('light-work')).not.toMatch(/dew|drive/)
  })
})

describe('the clocks of all profiles', () => {
  it('are those that full activity settles at', () => {
    const picture = drawnClocks(drawables, size) as Picture
    expect(pictureFaults(picture)).toEqual([])
    const at = (name: string) =>
      picture.figures.rows.find(([profile, cores]) => profile === name && cores === 12)?.[4] as number
    const cooling = drawnCooling(drawable('heavy-work'), { size }) as Picture
    const [, ratio] = cooling.figures.rows.find(([curve]) => curve === 'settled') ?? []
    const { referenceGhz } = (drawable('heavy-work').evaluation.input.bench as { part: { referenceGhz: number } }).part
    expect(at('heavy-work')).toBeCloseTo((ratio as number) * referenceGhz, 6)
    const profiles = new Set(picture.figures.rows.map(([profile]) => profile))
    expect(profiles.size).toBe(drawables.length)
  })
})

/** How many numbers each strip has on its scale: one alone is no scale. */
function numbersByStrip({ labels }: Picture): readonly number[] {
  const tops = labels
    .filter(({ text }) => /^(?:clock|power|temperature|die, measured).*, /.test(text))
    .map(({ y }) => y)
  const numbers = labels.filter(({ text, x, width }) => /^−?\d[\d.]*$/.test(text) && x + width < 48)
  expect(tops.length).toBeGreaterThan(3)
  return tops.map(top => {
    const next = Math.min(...tops.filter(other => other > top), Number.POSITIVE_INFINITY)
    return numbers.filter(({ y }) => y > top && y < next).length
  })
}

describe('the course', () => {
  it('of a load has clear labels, and its events where they happen', () => {
    for (const name of ['winter', 'light-work']) {
      const picture = drawnCourse(drawable(name), { size: { width: 760, height: 640 }, load: 'render' }) as Picture
      expect(pictureFaults(picture), picture.title).toEqual([])
      expect(picture.figures.rows.length).toBeGreaterThan(100)
    }
    const winter = drawnCourse(drawable('winter'), { size, load: 'render' }) as Picture
    expect(winter.marks.some(({ sentence }) => /^At [\d.]+ s: ratio given back/.test(sentence))).toBe(true)
  })

  it('of a whole course names its steps and faults, each at its line, and breaks off where no core is at work', () => {
    const uri = uriOfPath(`${folder}plate-stack.detent`)
    const text = service.workspace.document(uri)?.source.text ?? ''
    for (const each of [{ width: 760, height: 640 }, narrow]) {
      // One corner of the room: a course takes a while.
      const whatIf = { airC: 26, humidityPct: 55 }
      const picture = drawnWholeCourse(drawable('summer'), 'no-flow', { size: each, whatIf })
      if (typeof picture === 'string') throw new Error(picture)
      expect(pictureFaults(picture), picture.title).toEqual([])
      const fault = picture.marks.find(({ sentence }) => /^At [\d.]+ s: pump at 0 %/.test(sentence))
      expect(text.slice(fault?.place?.start, fault?.place?.end)).toBe('fault pump 0 %')
      expect(picture.marks.some(({ sentence }) => /^At 0\.0 s: compile begins/.test(sentence))).toBe(true)
    }
    expect(drawnWholeCourse(drawable('summer'), 'nowhere', { size })).toBe('no course is called nowhere')
    const subject = subjectAt(service.workspace, service.bench, uri, text.indexOf('fault pump 0 %'))
    expect([subject?.kind, subject?.course?.name]).toEqual(['course', 'no-flow'])
  }, 60_000)

  it('of a run has the log as dots over the prediction, and the stretch that counts', async () => {
    await service.bench.loadLogs(runsFile)
    // Of a loop, whose fan follows the coolant, and of a chilled plate.
    const wanted = ['heavy-browse', 'tank-browse']
    const runs = service.bench.compared(runsFile).filter(({ record }) => wanted.includes(record.name))
    expect(runs).toHaveLength(2)
    for (const run of runs) {
      const picture = drawnRun(service.workspace, run, { width: 760, height: 640 }) as Picture
      const beside = drawnRun(service.workspace, run, { width: 440, height: 506 }) as Picture
      expect(pictureFaults(beside), beside.title).toEqual([])
      expect(pictureFaults(picture), picture.title).toEqual([])
      for (const one of [picture, beside]) expect(Math.min(...numbersByStrip(one)), one.title).toBeGreaterThan(1)
      expect(dotsIn(picture)).toBeGreaterThan(50)
      const counts = picture.marks.some(({ sentence }) => sentence.includes('follows from the rows'))
      expect(counts, run.record.name).toBe(run.settled !== undefined)
    }
  }, 180_000)
})
