/** A fit in words and cells, for the terminal and for the paper. */

import type { FitResult, FittedConstant } from '../../bench/fit/fit.ts'
import type { OddReading, SittingResidual } from '../../bench/fit/residuals.ts'
import type { RunsFit } from '../../bench/fit/runs.ts'
import { usualScatter } from '../../bench/likelihood/sitting.ts'
import { settingsText } from '../../bench/run/wording.ts'
import { counted, listed } from '../../wording/counts.ts'
import { column, decimalsKnown, fixed, noFigure, rounded, signed } from '../../wording/figures.ts'

export const constantHead = ['constant', 'before', 'after', '±', '95 % interval', 'learned'] as const
export const residualHead = ['run', 'measured W', 'fitted W', 'measured die °C', 'fitted die °C'] as const

/** As far as its standard uncertainty gives digits a meaning: two of those. */
function meaningful(value: number, standardUncertainty: number): string {
  return standardUncertainty > 0 ? fixed(value, decimalsKnown(standardUncertainty, 12)) : rounded(value, 4)
}

/** The constant's name, and what it is known as before and after: value, ±, interval, and how much was learned. */
export function constantRow(
  { constant, value, standardUncertainty, interval, learned }: FittedConstant,
  name: string = constant.name,
): readonly string[] {
  return [
    name,
    rounded(constant.value, 4),
    meaningful(value, standardUncertainty),
    rounded(standardUncertainty, 2),
    interval.map(end => meaningful(end, standardUncertainty)).join(' to '),
    `${Math.max(0, Math.round(100 * learned))} %`,
  ]
}

/** The constants by what they are of, the part first. */
export function byOwner({ constants }: FitResult): ReadonlyMap<string, readonly FittedConstant[]> {
  const found = new Map<string, FittedConstant[]>()
  for (const one of constants) {
    const of = `${one.constant.target} ${one.constant.owner}`
    found.set(of, [...(found.get(of) ?? []), one])
  }
  return found
}

/** From here on what is known of a constant is mostly what the runs say. */
const MOSTLY_LEARNED = 0.5

/** Where the knowledge of a constant comes from, in words. */
export function sourceText({ constant, learned }: FittedConstant, fit: Pick<RunsFit, 'used'>): string {
  if (learned >= MOSTLY_LEARNED) return fit.used.length === 0 ? 'from your points' : 'from your runs'
  return constant.from === 'usual' ? 'mostly the usual value' : 'mostly as stated'
}

/** The same of all constants, one sentence for each source. */
export function sourceTexts(result: FitResult, fit: Pick<RunsFit, 'used'>): readonly string[] {
  const groups = new Map<string, string[]>()
  for (const one of result.constants) {
    const source = sourceText(one, fit)
    groups.set(source, [...(groups.get(source) ?? []), one.constant.name])
  }
  return [...groups].map(([source, names]) => `${source}: ${names.join(', ')}`)
}

export function residualRow({ run, powerW, dieC }: SittingResidual): readonly string[] {
  const figures = [powerW?.measured, powerW?.fitted, dieC?.measured, dieC?.fitted]
  return [run, ...figures.map(value => column(value, 1))]
}

/** Measured less fitted: W of power, K of the die. */
export function differences({ powerW, dieC }: SittingResidual): readonly string[] {
  return [powerW, dieC].map(pair => {
    return pair === undefined || Number.isNaN(pair.fitted) ? noFigure : signed(pair.measured - pair.fitted, 2)
  })
}

/** What ± is, and by how much sittings differ. */
export function aboutText({ scatter }: FitResult): string {
  const isUsual = scatter.powerShare === usualScatter.powerShare && scatter.temperatureK === usualScatter.temperatureK
  const by = `${rounded(scatter.temperatureK, 2)} K and ${rounded(100 * scatter.powerShare, 2)} % of the power`
  return `in base units (W, °C, K, nF, K/W, J/K); sittings differ by ${by}${isUsual ? ', as is usual' : ', as these runs show'}`
}

/** Less than this share is nothing that logs tell of their room. */
const LEAST_TOLD = 0.1

/** By how much the room warmed while it was logged; undefined without logs. */
export function warmingText({ warming }: FitResult): string | undefined {
  if (warming === undefined) return undefined
  const { valueK, standardUncertaintyK: u, learned } = warming
  if (learned < LEAST_TOLD) return 'the logs do not tell whether the room warmed; the ± allow for 2 K over each log'
  const by = (kelvins: number): string => `${meaningful(kelvins, u)} K ± ${rounded(u, 2)} K`
  if (Math.abs(valueK) < u) return `the room kept its temperature over each log (${by(valueK)})`
  const way = valueK < 0 ? 'cooled' : 'warmed'
  return `the room ${way} by ${by(Math.abs(valueK))} over each log, which no constant has to explain`
}

/** Constants are strongly correlated from here on. */
const STRONG = 0.5

/** Pairs of fitted constants by how strongly their errors are correlated. */
export function correlations({ constants, correlation }: FitResult): readonly (readonly [string, string, number])[] {
  const names = constants.map(({ constant }) => constant.name)
  const pairs = names.flatMap((first, row) =>
    names.slice(row + 1).map((second, offset) => [first, second, correlation[row]?.[row + 1 + offset] ?? 0] as const),
  )
  return pairs.toSorted((a, b) => Math.abs(b[2]) - Math.abs(a[2]))
}

/** Those pairs that are strongly correlated; undefined where there is no pair. */
export function correlationText(result: FitResult): string | undefined {
  const all = correlations(result)
  const strong = all.filter(([, , r]) => Math.abs(r) >= STRONG)
  if (all.length === 0) return undefined
  if (strong.length === 0) return `no two of them are strongly correlated (|r| of ${STRONG} or more)`
  const list = strong.map(([first, second, r]) => `${first} and ${second} ${fixed(r, 2)}`).join(', ')
  return `correlations of ${STRONG} or more: ${list}; all ${all.length} are in JSON`
}

/** Why known points say nothing of a cooler; undefined where they do, or there is none of them. */
function coolerText({
  part,
  coolers,
  points,
  fittable,
}: Pick<RunsFit, 'part' | 'coolers' | 'points' | 'fittable'>): string | undefined {
  if (points === 0) return undefined
  // Every cooler has a block; of one that cannot be read nothing can be fitted.
  const isRead = fittable.some(name => name.startsWith('block-resistance'))
  if (!isRead) return `no cooler is fitted: no profile of ${part.name} names one that can be read`
  if (coolers.size === 1) return undefined
  return `known points count for the part alone: its profiles name several coolers (${[...coolers.keys()].join(', ')})`
}

/** What was held, what nothing was learned of, and why of no cooler. */
export function leftTexts({ held, untouched }: FitResult, fit: RunsFit): readonly string[] {
  const names = (list: FitResult['held']): string => list.map(({ name }) => name).join(', ')
  return [
    ...[coolerText(fit) ?? []].flat(),
    ...(held.length === 0 ? [] : [`held as stated, their ± carried to the others: ${names(held)}`]),
    ...(untouched.length === 0 ? [] : [`nothing was learned of ${names(untouched)}`]),
  ]
}

/** What an earlier fit has to do with this one. */
export function earlierTexts({ companion, forgotten, changed, part }: RunsFit): readonly string[] {
  if (companion === undefined) return []
  const hand = `changed by hand since a fit wrote ${changed.length === 1 ? 'it' : 'them'}`
  return [
    `starts from what was known before the runs in the values, as ${part.name}.fitted.detent has it`,
    ...forgotten.map(run => `${run} is in the values so far, and does not count here`),
    ...(changed.length === 0 ? [] : [`${hand}, so what is stated counts as known before: ${changed.join(', ')}`]),
  ]
}

/** Readings that nothing explains. */
export function oddTexts({ odd }: Pick<RunsFit, 'odd'>): readonly string[] {
  return odd.map(one => `odd, so it counts little: ${oddText(one)}`)
}

function oddText({ run, figure, difference, unit }: OddReading): string {
  const by = `${rounded(Math.abs(difference), 2)}${unit === '%' ? ' %' : ' K'}`
  return `the ${figure === 'drive-voltage' ? 'drive voltage' : figure} of ${run} is ${by} ${difference > 0 ? 'above' : 'below'} what the rest explains`
}

/** Runs that were filed under the wrong profile or load. */
export function misfiledTexts({ misfiled }: Pick<RunsFit, 'misfiled'>): readonly string[] {
  return misfiled.map(
    ({ run, profile, load }) =>
      `${run} fits \`${profile}\` under \`${load}\` at least a thousand times better than what it is filed under`,
  )
}

/** What the ends of the runs say of the needs; undefined where it was not asked for. */
/** `needs-slope`, of one group of cores `needs-slope of small`. */
export function slopeName({ group }: RunsFit['needsSlopes'][number]): string {
  return group === undefined ? 'needs-slope' : `needs-slope of ${group}`
}

export function slopeText({ needsSlopes, noEvidence }: RunsFit): string | undefined {
  if (needsSlopes.length === 0) return undefined
  const list = noEvidence.map(({ run, why }) => `${run} (${why})`).join(', ')
  const also = list === '' ? '' : `; not counted: ${list}`
  const alone = needsSlopes.filter(one => !one.known)
  const known = needsSlopes.flatMap(one =>
    one.known
      ? [
          `${slopeName(one)} ${rounded(one.valueVPerK * 1000, 3)} mV/K ± ${rounded(one.standardUncertainty * 1000, 2)} mV/K, from how runs ended`,
        ]
      : [],
  )
  const whys = [...new Set(alone.map(({ why }) => why))].map(why => {
    const names = listed(alone.filter(one => one.why === why).map(slopeName))
    return `${names} ${alone.length > 1 && names.includes(' and ') ? 'are' : 'is'} left alone: ${why}`
  })
  return `${[...known, ...whys].join('; ')}${also}`
}

/** The runs that are compared with other settings than those of now, and why. */
export function settingsTexts({ used }: RunsFit): readonly string[] {
  return used.flatMap(({ run, settings }) =>
    settings.from === 'revision' || settings.from === 'not-had' ? `${run}: ${settingsText(settings)}` : [],
  )
}

export function skippedTexts({ result }: RunsFit): readonly string[] {
  return result.skipped.map(({ run, why }) => `${run} is left out: ${why}`)
}

/** How many constants were fitted, to how many runs and points. */
export function countText({ result, used, points, needsSlopes }: RunsFit): string {
  const ofRuns = 'constants' in result ? result.constants.length : 0
  const fitted = ofRuns + needsSlopes.filter(({ known }) => known).length
  const to = [
    ...(used.length > 0 || points === 0 ? [counted(used.length, 'run')] : []),
    ...(points > 0 ? [counted(points, 'known point')] : []),
  ]
  return `${counted(fitted, 'constant')} fitted to ${to.join(' and ')}`
}
