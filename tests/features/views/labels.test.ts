import { fileURLToPath } from 'node:url'
import { describe, expect, it } from 'vitest'
import { drawCooling } from '../../../server/charts/cooling.ts'
import { drawCourse } from '../../../server/charts/course.ts'
import { drawMap } from '../../../server/charts/map.ts'
import type { Picture } from '../../../server/charts/picture.ts'
import { coolingData } from '../../../server/features/views/cooling-view.ts'
import { loadCourse, runCourse } from '../../../server/features/views/course-view.ts'
import { type Drawable, drawnClocks, drawnLedger } from '../../../server/features/views/index.ts'
import { mapData } from '../../../server/features/views/map-view.ts'
import { casesOf, isBusy, type Scene, sceneOf, worstOf } from '../../../server/features/views/scene.ts'
import { wholeCourseInSlices } from '../../../server/features/views/whole-course.ts'
import { finished } from '../../../server/model/index.ts'
import { seededUniform } from '../../../server/model/random.ts'
import { createService, loadsToDraw, nextTrials } from '../../../server/service.ts'
import { nodeFiles, uriOfPath } from '../../../server/workspace/node-files.ts'
import { pictureFaults } from '../../charts/faults.ts'
import { nodeLogs } from '../../harness/file-systems.ts'
import { benchCount, plannedBench, plannedText } from '../../harness/planned-benches.ts'
import { plannedGroupsText } from '../../harness/planned-groups.ts'

const widths = [280, 420, 640, 1000]

/** As high as the panel beside the text draws them. */
const sizeOf = (width: number) => ({ width, height: Math.round(Math.min(Math.max(width * 0.66, 400), 550)) })
const tallOf = (width: number) => ({ width, height: Math.max(460, Math.min(600, Math.round(width * 1.15))) })

type Draw = (width: number) => Picture

/** The pictures of a profile, each to be drawn at any width; a course takes a while, so one load has one. */
function picturesOf(drawn: Drawable, others: readonly Drawable[]): readonly Draw[] {
  const scene = sceneOf(drawn.workspace, drawn.evaluation)
  if (scene === undefined) return []
  const draws: Draw[] = []
  for (const load of loadsToDraw(drawn.evaluation)) {
    const map = mapData(scene, { load })
    if (map !== undefined) draws.push(width => drawMap(map, sizeOf(width)))
    const worst = worstOf(casesOf(scene, load))
    if (worst !== undefined) {
      const cooling = coolingData(scene, worst)
      draws.push(width => drawCooling(cooling, sizeOf(width)))
    }
  }
  for (const other of others) {
    const against = sceneOf(other.workspace, other.evaluation)
    const map = against && mapData(scene, { against: { label: against.name, scene: against } })
    if (map !== undefined) draws.push(width => drawMap(map, sizeOf(width)))
  }
  const worst = worstOf(casesOf(scene, undefined).filter(isBusy))
  const course = worst && loadCourse(scene, worst, { overS: 600 })
  if (course !== undefined) draws.push(width => drawCourse(course, tallOf(width)))
  return draws
}

function expectClear(draws: readonly Draw[], at: readonly number[], name = ''): void {
  const found = draws.flatMap(draw =>
    at.flatMap(width => {
      const picture = draw(width)
      return pictureFaults(picture).map(fault => `${name} ${picture.title}, ${width} wide: ${fault}`)
    }),
  )
  expect(found).toEqual([])
}

const examples = [
  ['bench', ['heavy-work', 'light-work', 'plate-stack', 'cold-tank', 'runs']],
  ['two-kinds', ['workday', 'overnight']],
] as const

/** Steps and bands for a bench that lacks them, near the upper ends of its ratios and across its temperatures. */
function withSteps(text: string, uniform: () => number): string {
  const about = (low: number, high: number): number => Math.round(low + (high - low) * uniform())
  const blocks = [
    ...text.matchAll(/(?:group (\w+) \{)?\s+cores (\d+)\n(?:\s+reference [^\n]*\n)?\s+ratio \d+x to (\d+)x/g),
  ]
  const tables = blocks.map(([, group, most = '', high = '']) => {
    const [cores, ratio] = [Number(most), Number(high)]
    const few = about(1, cores)
    const rows = [`    ${few === 1 ? '1 core' : `1 to ${few} cores`} ${ratio - about(0, 1)}x`]
    if (few < cores) rows.push(`    ${few + 1} to ${cores} cores ${ratio - about(2, 4)}x`)
    const word = group === undefined ? '' : ` ${group}`
    const above = about(40, 62)
    const bands = `  bands${word} return 3 K {\n    1 to ${cores} cores above ${above} °C -1x\n    1 to ${cores} cores above ${above + about(2, 12)} °C -2x\n  }`
    return `  steps${word} {\n${rows.join('\n')}\n  }\n${bands}\n`
  })
  return `${text.trimEnd().slice(0, -1)}${tables.join('')}}\n`
}

describe('labels lie clear of each other and of lines, and inside the picture', () => {
  it.each(examples)(
    'in every chart of the example %s, its runs and courses among them, narrow to wide',
    async (example, names) => {
      const folder = fileURLToPath(new URL(`../../../grammar/examples/${example}/`, import.meta.url))
      const service = createService(nodeFiles, { logs: nodeLogs })
      const uris = names.map(name => uriOfPath(`${folder}${name}.detent`))
      await service.workspace.load(uris)
      for (const uri of uris) await service.bench.loadLogs(uri)
      const { workspace } = service
      const drawn = uris.flatMap(uri => service.evaluations(uri).map(evaluation => ({ workspace, evaluation })))
      const draws = drawn.flatMap((one, index) => picturesOf(one, drawn.slice(index - 1).slice(0, 1)))
      for (const run of uris.flatMap(uri => service.bench.compared(uri))) {
        const scene = run.predicted && sceneOf(workspace, run.predicted.evaluation)
        const course = scene && runCourse(scene, run)
        if (course === undefined) continue
        draws.push(width => drawCourse(course, tallOf(width)))
        // A figure alone at the left end of its line would read as a number of the scale, which ends at 48.
        const alone = widths.flatMap(width =>
          drawCourse(course, tallOf(width)).labels.filter(({ text, x }) => /^[−\d.]+ °C$/.test(text) && x < 56),
        )
        expect(alone).toEqual([])
      }
      for (const one of drawn) {
        for (const definition of one.evaluation.profile.courses) {
          const course = finished(wholeCourseInSlices(sceneOf(workspace, one.evaluation) as Scene, definition))
          if (typeof course === 'string') throw new Error(`${definition.name} is not followed: ${course}`)
          draws.push(width => drawCourse(course, tallOf(width)))
        }
        const evidence = service.bench.evidence(one.evaluation.profile.part)
        const next = evidence && nextTrials(one.evaluation, evidence, 1, new Set())
        const ledger: (width: number) => Picture | undefined = width =>
          drawnLedger([one], evidence, sizeOf(width), next?.proposals)
        if (ledger(640) !== undefined) draws.push(width => ledger(width) as Picture)
      }
      draws.push(width => drawnClocks(drawn, sizeOf(width)) as Picture)
      expect(draws.length).toBeGreaterThan(drawn.length * 10)
      expectClear(draws, widths)
    },
    120_000,
  )

  it.each([
    ['alike', plannedText],
    ['of two kinds', plannedGroupsText],
  ])(
    'in charts of benches drawn at random whose cores are %s, at any width',
    async (_, textOf) => {
      const uniform = seededUniform(14)
      let count = 0
      for (let seed = 0; seed < benchCount(8); seed++) {
        const { service, evaluation } = await plannedBench(withSteps(textOf(seed), uniform))
        const draws = picturesOf({ workspace: service.workspace, evaluation }, [])
        const own = Array.from({ length: 3 }, () => Math.round(280 + 720 * uniform()))
        expectClear(draws, own, `bench ${seed}:`)
        count += draws.length
      }
      expect(count).toBeGreaterThan(benchCount(8) * 3)
    },
    120_000,
  )
})
