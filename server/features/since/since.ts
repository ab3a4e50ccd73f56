/** What has changed in a bench between two states of its files, and what that does to each profile. */

import type { PlacedFinding } from '../../checks/run.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { Expectation } from '../../semantic/expectations.ts'
import { comparedSettings } from '../compare/settings.ts'
import type { ComparedSetting } from '../compare/types.ts'
import { subjectOf } from '../finding-subject.ts'
import { overlayName, shownPlace } from '../overlay/index.ts'
import { allFiguresOf, type PredictionFigures } from '../prediction-figures.ts'
import { type Paired, type Placed, pairsOf } from './pairs.ts'
import type {
  ChangedExpectation,
  ChangedFinding,
  ChangedPrediction,
  ChangedProfile,
  Pair,
  Since,
  SinceSide,
  Verdict,
} from './types.ts'

/** Figures that differ by less are the same: relative, and in K for temperatures. */
const TOLERANCE = 1e-6

function differs([a, b]: Pair, scale: 'relative' | 'absolute'): boolean {
  if (a === null || b === null) return a !== b
  return Math.abs(a - b) > TOLERANCE * (scale === 'absolute' ? 1 : Math.max(Math.abs(a), Math.abs(b)))
}

/** A load at one core count, of each group of cores, in one corner: what figures are paired by. */
const caseOf = ({ load, cores, air_c: airC, humidity_pct: humidity, groups = [] }: PredictionFigures): string =>
  [load, cores, airC, humidity, ...groups.map(own => own.cores)].join(' ')

function changedPredictions(before: Placed | undefined, now: Placed | undefined): readonly ChangedPrediction[] {
  const [older, newer] = [before, now].map(
    side => new Map((side === undefined ? [] : allFiguresOf(side.evaluation)).map(row => [caseOf(row), row])),
  ) as [Map<string, PredictionFigures>, Map<string, PredictionFigures>]
  const keys = [...new Set([...newer.keys(), ...older.keys()])]
  const rows = keys.flatMap(key => {
    const [a, b] = [older.get(key), newer.get(key)]
    const row = b ?? a
    if (row === undefined) return []
    const pair = (figure: (one: PredictionFigures) => number | null): Pair => [
      a === undefined ? null : figure(a),
      b === undefined ? null : figure(b),
    ]
    const figures = {
      clockMhz: pair(one => one.clock_mhz),
      powerW: pair(one => one.power_w),
      dieC: pair(one => one.die_c),
      marginW: pair(one => one.margin_w),
    }
    const { clockMhz, powerW, dieC, marginW } = figures
    const groups = row.groups?.flatMap(({ group, cores: own }, index) =>
      own === 0 ? [] : [{ group, cores: own, clockMhz: pair(one => one.groups?.[index]?.clock_mhz ?? null) }],
    )
    const isOther =
      a === undefined ||
      b === undefined ||
      [clockMhz, powerW, marginW, ...(groups ?? []).map(own => own.clockMhz)].some(one => differs(one, 'relative')) ||
      differs(dieC, 'absolute')
    const { load, cores, air_c: airC, humidity_pct: humidityPct } = row
    return isOther ? [{ load, cores, airC, humidityPct, ...figures, ...(groups && { groups }) }] : []
  })
  const order = (a: ChangedPrediction, b: ChangedPrediction): number =>
    a.load < b.load ? -1 : a.load > b.load ? 1 : a.cores - b.cores || a.airC - b.airC || a.humidityPct - b.humidityPct
  return rows.sort(order)
}

function verdictOf(expectation: Expectation | undefined): Verdict {
  if (expectation === undefined) return null
  return expectation.holds === null ? 'undecided' : expectation.holds ? 'holds' : 'failed'
}

function changedExpectations(
  before: readonly Expectation[],
  now: readonly Expectation[],
): readonly ChangedExpectation[] {
  const texts = [...new Set([...now, ...before].map(({ text }) => text))].sort()
  return texts.flatMap(text => {
    const [older, newer] = [before, now].map(list => verdictOf(list.find(one => one.text === text)))
    return older === newer ? [] : [{ text, before: older ?? null, after: newer ?? null }]
  })
}

/** What a profile rests on; a finding in any of it is one of the profile's. */
function restsOn({ profile }: Evaluation): ReadonlySet<unknown> {
  const { chain, part, cooler, room, board, loads, courses } = profile
  return new Set([...chain, part, cooler, room, board, ...loads, ...courses].map(one => one?.chunk))
}

interface NamedFinding {
  readonly found: ChangedFinding
  /** What it is about: figures and lines move, this stays. */
  readonly subject: string
}

/** Where findings stand, worked out once for a side. */
function createFinder(side: SinceSide): (placed: Placed | undefined) => readonly NamedFinding[] {
  const names = new Map(side.files.map(({ uri, name }) => [uri, name]))
  const lists = new Map<string, readonly PlacedFinding[]>()
  const listOf = (uri: string): readonly PlacedFinding[] => {
    const known = lists.get(uri) ?? side.findings(uri)
    lists.set(uri, known)
    return known
  }
  return placed => {
    if (placed === undefined) return []
    const rests = restsOn(placed.evaluation)
    const documents = side.workspace.view(placed.uri)?.documents ?? []
    return documents.flatMap(document =>
      listOf(document.uri).flatMap(({ finding, start }) => {
        const { at, code, severity, message, profile, load } = finding
        if (!rests.has(at.chunk) || (profile !== undefined && profile !== placed.name)) return []
        const { uri, overlay, line } = shownPlace(document, start)
        const found = {
          file: overlay === undefined ? (names.get(uri) ?? placed.file) : overlayName(overlay),
          line,
          severity,
          code,
          message,
          ...(load === undefined ? {} : { load }),
        }
        return [{ found, subject: subjectOf(finding, document.source.text, start) }]
      }),
    )
  }
}

/** Those of one list that the other has not: of equal subjects, as many as it has more. */
function without(these: readonly NamedFinding[], those: readonly NamedFinding[]): readonly ChangedFinding[] {
  const left = new Map<string, number>()
  for (const { subject } of those) left.set(subject, (left.get(subject) ?? 0) + 1)
  return these.flatMap(({ found, subject }) => {
    const count = left.get(subject) ?? 0
    left.set(subject, count - 1)
    return count > 0 ? [] : [found]
  })
}

function changedSettings({ before, now }: Paired): readonly ComparedSetting[] {
  if (before === undefined || now === undefined) return []
  return comparedSettings([before.evaluation.profile, now.evaluation.profile]).filter(({ isSame }) => !isSame)
}

/**
 * Compares two states of a bench, profile by profile.
 * @param names the profiles that are asked for; none asks for all
 * @returns the profiles whose predictions, expectations or findings differ, sorted by file and name
 */
export function changesSince(before: SinceSide, now: SinceSide, names: readonly string[] = []): Since {
  const [olderFindings, newerFindings] = [createFinder(before), createFinder(now)]
  const asked = pairsOf(before, now).filter(
    pair => names.length === 0 || names.includes(pair.now?.name ?? pair.before?.name ?? ''),
  )
  const withoutEffect: string[] = []
  const profiles = asked.flatMap((pair): ChangedProfile[] => {
    const place = pair.now ?? pair.before
    if (place === undefined) return []
    const judged = (side: SinceSide, placed: Placed | undefined): readonly Expectation[] =>
      placed === undefined ? [] : side.expectations(placed.evaluation)
    const [older, newer] = [olderFindings(pair.before), newerFindings(pair.now)]
    const found = {
      settings: changedSettings(pair),
      predicted: changedPredictions(pair.before, pair.now),
      expectations: changedExpectations(judged(before, pair.before), judged(now, pair.now)),
      findings: { new: without(newer, older), gone: without(older, newer) },
    }
    const change = pair.before === undefined ? 'new' : pair.now === undefined ? 'gone' : 'changed'
    const { predicted, expectations, findings } = found
    const effects = predicted.length + expectations.length + findings.new.length + findings.gone.length
    if (change === 'changed' && effects === 0) {
      if (found.settings.length > 0) withoutEffect.push(place.name)
      return []
    }
    return [{ file: place.file, profile: place.name, change, ...found }]
  })
  const order = (a: ChangedProfile, b: ChangedProfile): number =>
    `${a.file}\n${a.profile}` < `${b.file}\n${b.profile}` ? -1 : 1
  const paired = asked.filter(pair => pair.before !== undefined && pair.now !== undefined).length
  return { profiles: profiles.sort(order), paired, withoutEffect }
}

/** Whether anything is worse: an expectation that held no longer does, or an error is new. */
export function isWorse({ profiles }: Since): boolean {
  return profiles.some(
    ({ expectations, findings }) =>
      expectations.some(({ before, after }) => before === 'holds' && (after === 'failed' || after === 'undecided')) ||
      findings.new.some(({ severity }) => severity === 'error'),
  )
}
