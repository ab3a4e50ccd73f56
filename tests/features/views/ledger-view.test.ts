import { fileURLToPath } from 'node:url'
import { beforeAll, describe, expect, it } from 'vitest'
import { interpolateRows } from '../../../server/model/index.ts'
import {
  allFiguresOf,
  createService,
  type Drawable,
  drawnLedger,
  type Picture,
  type Service,
} from '../../../server/service.ts'
import { nodeFiles, uriOfPath } from '../../../server/workspace/node-files.ts'
import { pictureFaults } from '../../charts/faults.ts'
import { nodeLogs } from '../../harness/file-systems.ts'

const folder = fileURLToPath(new URL('../../../grammar/examples/bench/', import.meta.url))
const size = { width: 760, height: 480 }

let service: Service
let drawn: Drawable

beforeAll(async () => {
  service = createService(nodeFiles, { logs: nodeLogs })
  const [uri, runs] = [uriOfPath(`${folder}heavy-work.detent`), uriOfPath(`${folder}runs.detent`)]
  await service.workspace.load([uri, runs])
  await service.bench.loadLogs(runs)
  const [evaluation] = service.evaluations(uri)
  if (evaluation === undefined) throw new Error('no profile')
  drawn = { workspace: service.workspace, evaluation }
})

const rowsOf = ({ figures }: Picture, what: string): readonly Readonly<Record<string, unknown>>[] =>
  figures.rows
    .filter(([first]) => first === what)
    .map(row => Object.fromEntries(figures.head.map((name, at) => [name, row[at]])))

describe('the ledger of the example bench', () => {
  it('rests on what was found before, whichever file was asked about in between', () => {
    const { part } = drawn.evaluation.profile
    const before = service.bench.evidence(part)
    for (const { uri } of service.workspace.documents()) service.evaluations(uri)
    expect(service.bench.evidence(part)).toBe(before)
    expect(before?.trials.length).toBeGreaterThan(1)
  })

  it('has the figures of the evidence, digit by digit, and clear labels', () => {
    const evidence = service.bench.evidence(drawn.evaluation.profile.part)
    const rows = evidence?.ledger.rows ?? []
    expect(rows.length).toBeGreaterThan(4)
    for (const width of [760, 520, 420]) {
      const narrow = drawnLedger([drawn], evidence, { width, height: 440 })
      expect(narrow && pictureFaults(narrow)).toEqual([])
    }
    const picture = drawnLedger([drawn], evidence, size) as Picture
    const taken = rowsOf(picture, 'takes')
    expect(taken.map(({ ratio, voltage_v }) => [ratio, voltage_v])).toEqual(
      rows.map(({ ratio, proofV }) => [ratio, proofV]),
    )
    for (const [index, { low_v, high_v }] of taken.entries()) {
      // Both ends of an interval of 95 % of a normal distribution: 1.959964 standard deviations (NIST/SEMATECH e-Handbook, 1.3.6.7.1), to so many digits.
      const half = 1.959964 * (rows[index]?.standardUncertaintyV ?? Number.NaN)
      expect((high_v as number) - (low_v as number)).toBeCloseTo(2 * half, 8)
    }
    expect(rowsOf(picture, 'held').map(({ name }) => name)).toEqual(evidence?.trials.map(({ run }) => run))
    expect(picture.marks.some(({ sentence }) => /heavy-render at 45x: held 30 min with 1\.\d+ V/.test(sentence))).toBe(
      true,
    )
    expect(rowsOf(picture, 'stated').map(({ ratio }) => ratio)).toEqual(
      drawn.evaluation.input.bench?.part.needs.map(({ ratio }) => ratio),
    )
  })

  it('shows the least voltage that the profile gives each ratio', () => {
    const picture = drawnLedger([drawn], undefined, size) as Picture
    const given = rowsOf(picture, 'given')
    const busy = allFiguresOf(drawn.evaluation).filter(({ cores }) => cores > 0)
    const shared = new Set(busy.flatMap(row => (row.state === 'steady' ? [] : [row.ratio_low, row.ratio_high])))
    const needs = drawn.evaluation.input.bench?.part.needs ?? []
    // What a steady load has beyond its need, it has beyond the stated row as well: slope and vector work count on both sides.
    const least = new Map<number, number>()
    for (const { ratio, voltage_v, need_v } of busy) {
      if (ratio === null || voltage_v === null || need_v === null || shared.has(ratio)) continue
      least.set(ratio, Math.min(voltage_v - need_v, least.get(ratio) ?? Number.POSITIVE_INFINITY))
    }
    const steady = [...least].filter(([ratio]) => Number.isInteger(ratio))
    expect(steady.length).toBeGreaterThan(2)
    for (const [ratio, beyond] of steady) {
      const own = given.find(one => one.ratio === ratio)
      expect((own?.voltage_v as number) - interpolateRows(needs, ratio)).toBeCloseTo(beyond, 9)
    }
    expect(picture.marks.some(({ sentence }) => sentence.startsWith('heavy-work gives 1.'))).toBe(true)
  })

  it('leads from a trial to its run, and from a row to its line', () => {
    const evidence = service.bench.evidence(drawn.evaluation.profile.part)
    const picture = drawnLedger([drawn], evidence, size) as Picture
    const textAt = (beginning: string): string => {
      const { uri = '', start, end } = picture.marks.find(({ sentence }) => sentence.startsWith(beginning))?.place ?? {}
      return service.workspace.document(uri)?.source.text.slice(start, end) ?? ''
    }
    expect(textAt('needs states')).toMatch(/^\d+x +[\d.]+ V/)
    expect(textAt('heavy-render at 45x')).toBe('heavy-render')
  })
})
