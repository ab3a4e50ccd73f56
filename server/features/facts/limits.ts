/** Hover of `limits`: each limit beside the highest figure that any load reaches on any core count, and what it caps. */

import { limitWords } from '../../../grammar/vocabulary/index.ts'
import { activeGroups, coresOf, groupSettings, isWork, stepRatio } from '../../model/index.ts'
import type { Bench } from '../../model/types.ts'
import { type EnvelopePoint, envelopeOf, worstPoint } from '../../semantic/envelope.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { limitRows, limits, limitText, limitUnit } from '../../semantic/limiters.ts'
import { coresText } from '../../wording/counts.ts'
import { clockText, noFigure, predictedIn, statedText } from '../../wording/figures.ts'
import { cornerText, ofGroupText, pointText } from '../../wording/places.ts'
import { code, list, table } from '../markdown.ts'
import { nothingPredicted } from './predicted.ts'
import { type Told, told } from './told.ts'

/** So many of the loads that limits hold back are named at once. */
const mostCaps = 2

/** The clock that the step of a load asks for, of the first group at work, in MHz. */
function askedMhz({ part, profile }: Bench, { load }: EnvelopePoint): number | undefined {
  if (!isWork(load)) return undefined
  const [lead] = activeGroups(part, load)
  const own = groupSettings(profile, lead?.index ?? 0)
  const step = stepRatio(own, lead?.cores ?? load.cores)
  return step === undefined ? undefined : (step - (load.vector ? own.vectorDrop : 0)) * part.referenceGhz * 1000
}

/** `1 core`, `2 to 4 and 12 cores`. */
function countsText(counts: readonly number[]): string {
  const runs: { from: number; to: number }[] = []
  for (const count of [...new Set(counts)].sort((a, b) => a - b)) {
    const last = runs.at(-1)
    if (last?.to === count - 1) last.to = count
    else runs.push({ from: count, to: count })
  }
  const [only] = runs
  if (runs.length === 1 && only !== undefined) return coresText(only.from, only.to)
  return `${runs.map(({ from, to }) => (from === to ? `${from}` : `${from} to ${to}`)).join(' and ')} cores`
}

function busy({ load }: EnvelopePoint): number {
  return coresOf(load)
}

/** What a limit caps: each load with its core counts, and where it takes most. */
function capsText(evaluation: Evaluation, bench: Bench, word: string): readonly string[] {
  const capped = new Map<string, EnvelopePoint[]>()
  for (const point of envelopeOf(evaluation)) {
    if (!isWork(point.load) || point.settled.limiter !== limits[word]?.limiter) continue
    const points = capped.get(point.name)
    if (points === undefined) capped.set(point.name, [point])
    else points.push(point)
  }
  return [...capped].flatMap(([name, points]) => {
    const counts = points.map(busy)
    const loss = (point: EnvelopePoint): number => (askedMhz(bench, point) ?? 0) - (point.settled.clockMhz ?? 0)
    const most = points.reduce((best, point) => (loss(point) > loss(best) ? point : best))
    const asked = askedMhz(bench, most)
    const lead = isWork(most.load) ? activeGroups(bench.part, most.load)[0] : undefined
    const whose = ofGroupText(bench.part.groups?.[lead?.index ?? 0]?.name)
    const worst = `from ${clockText(asked)} to ${clockText(most.settled.clockMhz)}${whose}, with ${most.active ?? coresText(busy(most))} at ${cornerText(most.corner)}`
    return [`${code(word)} holds back ${name} on ${countsText(counts)}, at most ${worst}`]
  })
}

/**
 * The limits of a profile, or one of them.
 * @param word a key of `limits`; undefined for all
 */
export function limitsHover(evaluation: Evaluation, word: string | undefined): Told | undefined {
  const { bench } = evaluation.input
  if (bench === undefined) return told({ lines: [nothingPredicted(evaluation)] })
  const rows = limitWords.flatMap(limit => {
    return word !== undefined && word !== limit ? [] : limitRows(bench, limit)
  })
  if (rows.length === 0) return undefined
  const cells = rows.map(row => {
    const most = worstPoint(envelopeOf(evaluation), ({ settled }) => row.figureOf(settled) ?? undefined)
    const unit = limitUnit(row.word)
    return [
      limitText(row),
      statedText(row.value, unit),
      predictedIn(most?.value, unit),
      most === undefined ? noFigure : pointText(most.point),
    ]
  })
  const caps = [...new Set(rows.map(row => row.word))].flatMap(one => capsText(evaluation, bench, one))
  const none = word === undefined ? 'They hold back no load' : 'It holds back no load'
  return told({
    lines: [
      runawayText(evaluation),
      caps.length === 0
        ? `${none} in steady state, on any number of active cores.`
        : list([...caps.slice(0, mostCaps), ...(caps.length > mostCaps ? [`and ${caps.length - mostCaps} more`] : [])]),
    ],
    tables: [table(['Limit', 'Set to', 'Highest steady', 'Reached by'], cells)],
    rest: [caps.length > mostCaps ? list(caps.slice(mostCaps)) : undefined],
  })
}

function runawayText(evaluation: Evaluation): string | undefined {
  const runs = envelopeOf(evaluation).find(({ settled }) => settled.state === 'runaway')
  return runs === undefined ? undefined : `No steady figures at all: ${pointText(runs)}, which runs away.`
}
