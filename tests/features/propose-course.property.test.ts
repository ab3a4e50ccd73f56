/** Proposals that keep what is expected of courses, on small benches drawn at random. */
import { describe, expect, it } from 'vitest'
import { planEdits } from '../../server/features/propose/edit.ts'
import { nothingAsked, proposeInSlices } from '../../server/features/propose/index.ts'
import { finished } from '../../server/model/slices.ts'
import { applyEdits } from '../../server/service.ts'
import { benchCount, plannedBench, plannedText, plannedUri } from '../harness/planned-benches.ts'

const seeds = Array.from({ length: benchCount(8, 16) }, (_, index) => index)

const course = `
course turn {
  start settled weave
  weave 60 s
  fault radiator 140 %
  weave 240 s
}
`
const textWith = (seed: number, expectation: string): string =>
  plannedText(seed, expectation === '' ? '' : `  expect course turn ${expectation}\n`) + course

async function proposedFor(text: string) {
  const { evaluation, service } = await plannedBench(text)
  const proposal = finished(proposeInSlices(evaluation, nothingAsked, undefined, new Set()))
  const document = service.workspace.document(plannedUri)
  if (document === undefined) throw new Error('the bench is not loaded')
  const { plan } = proposal
  const written = plan.kind === 'none' ? undefined : applyEdits(text, planEdits(document, evaluation.profile, plan))
  return { ...proposal, written }
}

/** What is expected of the course in a text as it stands: whether it holds, and the figure. */
async function turnOf(text: string) {
  const { evaluation, service } = await plannedBench(text)
  service.expectations(evaluation)
  service.runs.makeAll()
  return service.expectations(evaluation).find(one => one.course === 'turn')
}

/** Whether steps may stay as they are in a text: their bands serve, and in the coolest air the course is kept without any. */
async function mayRise(text: string): Promise<boolean> {
  const { service } = await plannedBench(text)
  if ((await turnOf(text))?.holds !== true) return false
  if (service.findings(plannedUri).some(({ finding }) => ['error', 'warning'].includes(finding.severity))) return false
  const coolest = text.replace(/^( {2}air \S+ °C) to .*$/m, '$1').replace(/^ {2}bands [^}]*\}\n/m, '')
  expect(coolest).not.toBe(text)
  return (await turnOf(coolest))?.holds === true
}

/** The course's figure under the plan that minds no course, and a limit that it fails by so much. */
async function limited(seed: number, figure: 'die' | 'power', share: number) {
  const unit = figure === 'die' ? '°C' : 'W'
  const free = await proposedFor(textWith(seed, ''))
  if (free.written === undefined) return undefined
  const asked = (limit: number): string => `${figure} <= ${limit.toFixed(1)} ${unit}`
  const whole = await proposedFor(textWith(seed, asked(400)))
  if (whole.written === undefined) return undefined
  const predicted = (await turnOf(whole.written))?.predicted
  if (predicted == null) return undefined
  const expectation = asked(predicted - share * (predicted - 20))
  return { seed, free, whole, expectation, found: await proposedFor(textWith(seed, expectation)) }
}

const all: NonNullable<Awaited<ReturnType<typeof limited>>>[] = []
for (const seed of seeds) {
  const one = await limited(seed, seed % 4 === 3 ? 'power' : 'die', seed % 2 === 0 ? 0.05 : 0.15)
  if (one !== undefined) all.push(one)
}
const kept = all.filter(({ found }) => found.unmet.every(({ expectation }) => expectation.course === undefined))

describe('a proposal beside an expectation of a course', () => {
  it('keeps most, and changes for them', () => {
    expect(all.length).toBeGreaterThan(seeds.length / 3)
    expect(kept.length).toBeGreaterThan(all.length / 3)
    for (const { found, free } of kept) expect(found.plan).not.toEqual(free.plan)
  })

  it.each(all)('is what it is without one that holds already: bench $seed', ({ free, whole }) => {
    expect(whole.plan).toEqual(free.plan)
  })

  it.each(kept)('holds in the text that it is written to: bench $seed', async ({ found }) => {
    expect((await turnOf(found.written ?? ''))?.holds).toBe(true)
  })

  it.each(kept)('has no row that the course holds down and that could rise: bench $seed', async ({ found }) => {
    const { plan, written = '' } = found
    const rows = plan.kind === 'plan' ? plan.rows.filter(({ next }) => next.words.includes('`expect course turn')) : []
    for (const { from, to, ratio } of rows) {
      const counts = from === to ? `${from} cores?` : `${from} to ${to} cores`
      const row = new RegExp(`(${counts} +)${ratio}x`)
      expect(written).toMatch(row)
      const raised = written.replace(row, `$1${ratio + 1}x`)
      expect(await mayRise(raised), `${from} to ${to} cores at ${ratio + 1}x`).toBe(false)
    }
  })

  it.each(all.filter(one => !kept.includes(one)))('says why none is kept: bench $seed', ({ found }) => {
    const own = found.unmet.find(({ expectation }) => expectation.course === 'turn')
    expect(own?.why).toMatch(/would|does not hold, whatever/)
    expect(own?.expectation.holds).toBe(false)
  })
})
