/** Everything the model needs for one profile, or what is missing for it. */

import type { DefinitionKind } from '../../grammar/vocabulary/index.ts'
import type { Bench, Corner, Part } from '../model/types.ts'
import {
  boardConstants,
  type Constants,
  coolerConstants,
  loadConstants,
  noBoard,
  partConstants,
  roomCorners,
} from './constants.ts'
import { drivenPlate } from './coolers/index.ts'
import { type Definition, entries } from './definitions.ts'
import { hasSupply, supplyWords } from './drives.ts'
import { fittedRecord } from './fitted.ts'
import type { Correlation, UncertainConstant } from './gather.ts'
import { casesOf, type LoadCase } from './load-cases.ts'
import type { ResolvedProfile } from './profile.ts'
import { settingsOf } from './settings.ts'
import { sharedBench } from './shared-bench.ts'
import { readStateOf, standIns, unreadOf } from './unread.ts'

/** Something without which no prediction can be made. */
interface Missing {
  /** The kind of definition that lacks it, or `profile` for the profile itself. */
  readonly kind: DefinitionKind
  /** The definition that lacks it; undefined where the profile names one that does not exist. */
  readonly definition: Definition | undefined
  readonly word: string
  /** It stands there, on a line in error. */
  readonly broken: boolean
}

export interface ProfileInput {
  readonly bench: Bench | undefined
  /** The bench where nothing else is missing than the rows of `steps`, for what would be written there. */
  readonly benchForSteps: Bench | undefined
  readonly corners: readonly Corner[]
  readonly loads: readonly LoadCase[]
  readonly missing: readonly Missing[]
  /** Defaults used that hold for every load; a load's own stand in `loadAssumed`. */
  readonly assumed: readonly string[]
  readonly loadAssumed: ReadonlyMap<string, readonly string[]>
  readonly uncertain: readonly UncertainConstant[]
  readonly correlated: readonly Correlation[]
  readonly loadUncertain: ReadonlyMap<string, readonly UncertainConstant[]>
}

function collectMissing<T>(
  kind: DefinitionKind,
  definition: Definition,
  constants: Constants<T>,
  into: Missing[],
): void {
  for (const word of constants.missing) into.push({ kind, definition, word, broken: false })
  for (const word of constants.broken) into.push({ kind, definition, word, broken: true })
}

const idle: LoadCase = { name: 'idle', definition: undefined, load: { kind: 'idle' } }
const off: LoadCase = { name: 'off', definition: undefined, load: { kind: 'off' } }

/** The load cases of a bench: each declared load at each of its core counts that the part has, then the built-in ones. */
function loadCases(profile: ResolvedProfile, part: Part, offStaysDriven: boolean, missing: Missing[]): LoadCase[] {
  const cases: LoadCase[] = []
  for (const definition of profile.loads) {
    const constants = loadConstants(definition)
    collectMissing('load', definition, constants, missing)
    cases.push(...casesOf(part, definition))
  }
  cases.push(idle)
  if (offStaysDriven) cases.push(off)
  return cases
}

/** The uncertain constants of a load that count on a part: activities of its groups, and of those that state none. */
function uncertainOn(part: Part | undefined, load: Definition): readonly UncertainConstant[] {
  const { uncertain, value } = loadConstants(load)
  const names = part?.groups?.map(({ name }) => name) ?? []
  const heirs = names.filter(name => value?.activities.has(name) !== true)
  return uncertain.flatMap(one => {
    const changes = one.changes.flatMap(change => {
      if (change.of !== undefined) return names.includes(change.of) ? [change] : []
      return change.field === 'activity' ? [change, ...heirs.map(of => ({ ...change, of }))] : [change]
    })
    return changes.length === 0 ? [] : [{ ...one, changes }]
  })
}

function assumedIn(load: Definition): readonly string[] {
  return [...new Set([...loadConstants(load).assumed, ...standIns(readStateOf(load.chunk).unread, () => false)])]
}

/**
 * Gathers the input of a profile. Whatever is missing is listed; then there is no bench and nothing is predicted.
 * @param before its input with other loads, all else that it is made of the very same: what no load changes is taken from
 * there, and with its bench all that was ever predicted on it
 */
export function inputOf(profile: ResolvedProfile, before?: ProfileInput): ProfileInput {
  const missing: Missing[] = []
  const own = profile.definition
  const named = <T>(
    kind: 'part' | 'cooler' | 'room' | 'board',
    constantsOf: (definition: Definition) => Constants<T>,
  ): Constants<T> | undefined => {
    const definition = profile[kind]
    if (definition === undefined) {
      const stated = profile.key(kind) !== undefined
      if (stated || kind !== 'board')
        missing.push({
          kind: stated ? kind : 'profile',
          definition: stated ? undefined : own,
          word: kind,
          broken: stated,
        })
      return undefined
    }
    const constants = constantsOf(definition)
    collectMissing(kind, definition, constants, missing)
    return constants
  }
  const part = named('part', partConstants)
  const cooler = named('cooler', coolerConstants)
  const room = named('room', roomCorners)
  const board = named('board', boardConstants)
  const settings = settingsOf(profile)
  if ([settings.profile, ...(settings.profile.groups ?? [])].every(({ steps }) => steps.length === 0)) {
    missing.push({
      kind: 'profile',
      definition: own,
      word: 'steps',
      broken: profile.chain.some(link => entries(link.match, 'steps').length > 0),
    })
  }
  const partValue = part?.value
  const coolerValue = cooler?.value
  const offStaysDriven = coolerValue !== undefined && drivenPlate(coolerValue)?.driveWhenOff === true
  const blocking = missing.length
  const loads = partValue === undefined ? [] : loadCases(profile, partValue, offStaysDriven, missing)
  const withoutSteps = missing.slice(0, blocking).every(({ kind, word }) => kind === 'profile' && word === 'steps')
  const complete =
    partValue !== undefined &&
    coolerValue !== undefined &&
    room?.value !== undefined &&
    withoutSteps &&
    profile.broken === undefined
  const isStated = (word: string): boolean =>
    [profile.key(word), profile.inner('limits', word), profile.inner('voltage', word)].some(one => one !== undefined)
  // Defaults of the supply stand for nothing where the drive does not ask for a voltage.
  const counts = (assumed: string): boolean =>
    hasSupply(settings.profile.drive) || !supplyWords.some(word => assumed.startsWith(`${word} `))
  const stoodIn = new Set([
    ...(part?.assumed ?? []),
    ...(cooler?.assumed ?? []).filter(one => counts(one)),
    ...(board?.assumed ?? []),
    ...settings.assumed,
    ...standIns(unreadOf(profile), isStated),
  ])
  const isHere = ({ cooler: named }: Correlation): boolean => named === undefined || named === profile.cooler?.name
  const lists = {
    assumed: before?.assumed ?? [...stoodIn].sort(),
    uncertain: before?.uncertain ?? [
      ...(part?.uncertain ?? []),
      ...(cooler?.uncertain ?? []),
      ...(board?.uncertain ?? []),
    ],
    // Of two lines for one pair the last counts.
    correlated: before?.correlated ?? [
      ...(profile.fitted === undefined ? [] : fittedRecord(profile.fitted).correlated).filter(isHere),
      ...(part?.correlated ?? []).filter(isHere),
      ...(cooler?.correlated ?? []),
    ],
  }
  const made = complete
    ? (before?.benchForSteps ?? {
        part: partValue,
        cooler: coolerValue,
        profile: settings.profile,
        board: board?.value ?? noBoard,
      })
    : undefined
  const shared = made && sharedBench({ ...lists, bench: made, board: profile.board, fitted: profile.fitted })
  const { assumed, uncertain, correlated } = shared ?? lists
  return {
    bench: blocking === 0 ? shared?.bench : undefined,
    benchForSteps: shared?.bench,
    corners: room?.value ?? [],
    loads,
    missing,
    assumed,
    loadAssumed: new Map(profile.loads.map(load => [load.name, assumedIn(load)])),
    uncertain,
    correlated,
    loadUncertain: new Map(profile.loads.map(load => [load.name, uncertainOn(partValue, load)])),
  }
}
