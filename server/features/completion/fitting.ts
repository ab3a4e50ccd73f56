/** What fits the place though the vocabulary alone cannot tell: what would be an error at once is not offered. */

import { matchChunk } from '../../../grammar/match.ts'
import { builtInLoads, isBuiltInLoad, mostInherited } from '../../../grammar/vocabulary/index.ts'
import { coolerConstants } from '../../semantic/constants.ts'
import { coolerKinds, drivenPlate } from '../../semantic/coolers/index.ts'
import type { Definition } from '../../semantic/definitions.ts'
import { resolveProfile } from '../../semantic/profile.ts'
import type { FileView } from '../../workspace/workspace.ts'
import type { TypingPlace } from './place.ts'
import type { Context } from './types.ts'

/** The profile whose line is being written, or that the head of a run names. */
function profileAt({ view, at }: Context): Definition | undefined {
  const owner = view.document.definitions.find(({ match }) => match === at.around[0])
  if (owner !== undefined) return owner.kind === 'profile' ? owner : undefined
  const [first, , , named] = at.before
  const isRun = first?.kind === 'word' && first.text === 'run'
  return isRun && named?.kind === 'word' ? view.scope.find('profile', named.text) : undefined
}

function coolerAt(context: Context): Definition | undefined {
  const profile = profileAt(context)
  return profile && resolveProfile(context.view.scope, profile).cooler
}

/** Whether the cooler is of a kind without a plate to drive; what is not known yet counts against nothing. */
function hasNoPlate(cooler: Definition | undefined): boolean {
  return cooler?.coolerKind !== undefined && !coolerKinds[cooler.coolerKind].isDriven
}

/** The built-in loads that the profile's bench has; both where it is not known yet. */
export function builtInLoadsAt(context: Context): readonly string[] {
  const cooler = coolerAt(context)
  const read = cooler && coolerConstants(cooler).value
  const plate = read && drivenPlate(read)
  const isOffCold = hasNoPlate(cooler) || plate?.driveWhenOff === false
  return builtInLoads.filter(name => name !== 'off' || !isOffCold)
}

/** Figures of busy cores, which the built-in loads do not have. */
const busyFigures = new Set(['holds', 'voltage', 'current'])

/** Whether a word that may follow in `expect` asks for a figure that there is. */
export function fitsBench(context: Context, word: string): boolean {
  const [first, load] = context.at.before
  // A bench without courses expects nothing of one, and was not run under one.
  const isCourse = first?.kind === 'word' && word === 'course'
  if (isCourse && (first.text === 'run' || (first.text === 'expect' && load === undefined)))
    return context.view.scope.all('course').length > 0
  if (first?.kind !== 'word' || first.text !== 'expect' || load?.kind !== 'word') return true
  if (busyFigures.has(word)) return !isBuiltInLoad(load.text)
  return word !== 'drive-power' || !hasNoPlate(coolerAt(context))
}

/**
 * Whether a profile may be the one that the profile of this line starts from: not itself, nor one that leads back to it,
 * nor one that starts from as many others as a profile may.
 */
export function fitsBase({ view, at }: Context, name: string): boolean {
  const [word, own] = at.before
  if (at.place !== 'file' || word?.kind !== 'word' || word.text !== 'profile' || own?.kind !== 'word') return true
  const seen = new Set<string>()
  for (let at: string | undefined = name; at !== undefined && !seen.has(at); ) {
    if (at === own.text || seen.size === mostInherited) return false
    seen.add(at)
    at = view.scope.find('profile', at)?.basedOn?.text
  }
  return true
}

/** The key words that stand at this place already; at the top level those of the whole file. */
export function wordsBeside(view: FileView, at: TypingPlace): ReadonlySet<string | undefined> {
  const matches =
    at.place === 'file' ? view.document.source.chunks.flatMap(({ chunk }) => matchChunk(chunk)) : at.siblings
  return new Set(matches.filter(match => match !== at.match).map(match => match.word?.word))
}

/** Whether nothing but comments stands in the file before the cursor. */
export function isFirst({ view, at }: Context): boolean {
  return !view.document.source.chunks.some(({ chunk, start }) =>
    chunk.statements.some(statement => start + statement.start < at.base + at.typed.start),
  )
}
