import { onceFor } from '../../../grammar/once.ts'
import type { Chunk } from '../../../grammar/tree.ts'
import type { Match } from '../../../grammar/values.ts'
import { languageVersion, type Word, wordsIn } from '../../../grammar/vocabulary/index.ts'
import { isAttempted } from '../../semantic/attempted.ts'
import { missingInModule } from '../../semantic/constants.ts'
import { type Definition, entries, entry, mentions, readChunk, text } from '../../semantic/definitions.ts'
import { hasOperatingPoint, knownPoints } from '../../semantic/known.ts'
import { type ResolvedProfile, resolveProfile } from '../../semantic/profile.ts'
import { quotedList } from '../../wording/counts.ts'
import { alongEdits } from '../../workspace/along-edits.ts'
import type { FileView } from '../../workspace/workspace.ts'
import { replaceFix } from '../support/edits.ts'
import { meantKey } from '../support/meant-key.ts'
import { headPlace, namePlace } from '../support/place.ts'
import { matchesOfChunk, topLevelOf } from '../support/walk.ts'
import type { Check, Found } from '../types.ts'

/** Where braces were lost, a key may stand in another block than the one it was written in. */
const braceReasons = new Set(['unclosed-block', 'missing-open', 'stray-close', 'block-without-head', 'nested-too-deep'])

function isWhole(definition: Definition): boolean {
  const { statement } = definition.match
  return statement.block !== undefined && !definition.chunk.problems.some(({ reason }) => braceReasons.has(reason))
}

function isRequired(word: Word, definition: Definition): boolean {
  if (word.required !== true) return false
  const { kinds } = word
  return kinds === undefined || (definition.coolerKind !== undefined && kinds.includes(definition.coolerKind))
}

function stands(block: Match, word: string): boolean {
  return mentions(block, word) || entries(block, word).length > 0 || isAttempted(block.children, word)
}

const missingWords = onceFor((definition: Definition): readonly string[] => {
  const { match, kind, chunk } = definition
  const required = wordsIn(kind).filter(word => isRequired(word, definition))
  const meant = match.children.map(child => meantKey(chunk, match, child))
  const lacking = required
    .map(word => word.word)
    .filter(word => !stands(match, word) && !meant.includes(word) && !eachGroupStates(definition, word))
  return kind === 'part' && lacksVoltages(definition) ? [...lacking, 'needs'] : lacking
})

/** Whether every group of a part says it, so that the part need not. */
function eachGroupStates({ kind, match }: Definition, word: string): boolean {
  const groups = kind === 'part' ? entries(match, 'group') : []
  return groups.length > 0 && groups.every(group => stands(group, word))
}

/** Whether nothing says what voltages a part needs: neither `needs` nor a row of `known` with voltage and clock. */
function lacksVoltages(part: Definition): boolean {
  if (stands(part.match, 'needs') || eachGroupStates(part, 'needs') || knownPoints(part).some(hasOperatingPoint))
    return false
  // A row that does not read has a finding of its own.
  return !entries(part.match, 'known').some(({ children }) => children.some(row => !row.sound))
}

/** For whom nothing can be predicted. */
function consequence(view: FileView, definition: Definition): string {
  const { kind, name } = definition
  if (kind === 'load') return 'Nothing can be predicted under this load'
  const users = view.document.definitions.filter(other => {
    if (other.kind !== 'profile') return false
    const stated = entry(other.match, kind)
    return stated !== undefined && text(stated, kind)?.text === name
  })
  const who = users.length > 0 ? quotedList(users.map(user => user.name)) : 'any profile that names it'
  return `Nothing can be predicted for ${who}`
}

function* inBenchDefinition(view: FileView, definition: Definition): Iterable<Found> {
  const { kind, name } = definition
  const lacking = missingWords(definition)
  if (lacking.length === 0) return
  const it = lacking.length === 1 ? 'it is' : 'they are'
  const which = definition.coolerKind === undefined ? `The ${kind}` : `The ${definition.coolerKind} ${kind}`
  yield {
    at: namePlace(definition),
    message: `${which} \`${name}\` lacks ${quotedList(lacking)}. ${consequence(view, definition)} until ${it} there.`,
  }
}

/** Tables without a row, and modules without one of the two sets of figures. */
function* inBlocks(chunk: Chunk): Iterable<Found> {
  for (const { match } of matchesOfChunk(chunk)) {
    const { word } = match
    if (word?.block === undefined || match.statement.block === undefined) continue
    const isTable = wordsIn(word.block).some(inner => inner.word === '')
    // A table that could be left out counts once it stands there.
    const isConstant = word.default !== undefined && word.in.some(place => place === 'part' || place === 'cooler')
    if (
      (word.required === true || isConstant) &&
      isTable &&
      !match.children.some(child => child.word === undefined || child.word.word === '')
    ) {
      yield {
        at: headPlace({ chunk }, match),
        message: `\`${word.word}\` has no row. Without one nothing can be predicted: add it, like \`${wordsIn(word.block).find(inner => inner.word === '')?.example}\`.`,
      }
    }
    if (word.block === 'module') {
      const lacking = missingInModule(match).filter(inner => !stands(match, inner))
      if (lacking.length > 0) {
        yield {
          at: headPlace({ chunk }, match),
          message: `The module lacks ${quotedList(lacking)}. It takes the datasheet's \`at\`, \`current\`, \`voltage\` and \`difference\`, or all of \`seebeck\`, \`resistance\` and \`conductance\`; until one set is whole nothing can be predicted with this plate.`,
        }
      }
    }
  }
}

/** What no profile of the chain states, although predictions need it. */
const missingInProfile = onceFor((profile: ResolvedProfile): readonly string[] => {
  if (profile.broken !== undefined || !profile.chain.every(isWhole)) return []
  const required = wordsIn('profile').filter(word => word.required === true)
  return required.map(word => word.word).filter(word => !profile.chain.some(link => stands(link.match, word)))
})

/** Whether a profile of a chunk lacks something. */
const lacksAlong = alongEdits<boolean>()

/**
 * Reported once for each mistake: at the profile that starts the chain. Where another that starts from it states the
 * word it is a beginning for others, which is reported as information, and each other one that still lacks the word is reported.
 */
function* inProfiles(view: FileView, usedByOthers: boolean): Iterable<Found> {
  const profilesAmong = (definitions: readonly Definition[]): readonly ResolvedProfile[] =>
    definitions.filter(({ kind }) => kind === 'profile').map(definition => resolveProfile(view.scope, definition))
  const lacks = lacksAlong(view.document, [view.scope.looked], chunk =>
    profilesAmong(readChunk(chunk).definitions).some(profile => missingInProfile(profile).length > 0),
  )
  if (!lacks.includes(true)) return
  const profiles = profilesAmong(view.document.definitions)
  const lacking = new Map(profiles.map(profile => [profile.definition, missingInProfile(profile)]))
  const starting = onceFor((base: Definition) => profiles.filter(({ chain }) => chain.indexOf(base) > 0))
  const isCompleted = (base: Definition, word: string): boolean =>
    starting(base).some(({ definition }) => lacking.get(definition)?.includes(word) === false)
  for (const { definition, chain } of profiles) {
    const told = (lacking.get(definition) ?? []).filter(
      word => !chain.slice(1).some(base => lacking.get(base)?.includes(word) && !isCompleted(base, word)),
    )
    if (told.length === 0) continue
    const isBeginning = told.every(word => isCompleted(definition, word))
    const elsewhere =
      usedByOthers && !isBeginning ? ', unless a profile of another file starts from it and adds them' : ''
    const until = isBeginning
      ? 'Only profiles that start from it and state that can be predicted.'
      : `Nothing can be predicted for it until it has ${told.length === 1 ? 'that' : 'them'}${elsewhere}.`
    yield {
      at: namePlace(definition),
      message: `The profile \`${definition.name}\` lacks ${quotedList(told)}. ${until}`,
      profile: definition.name,
      ...(usedByOthers || isBeginning ? { severity: 'information' as const } : {}),
    }
  }
}

function* versionLine(view: FileView): Iterable<Found> {
  const top = view.document.source.chunks[0]?.chunk
  const [first] = topLevelOf(view)
  const [version] = view.document.versions
  if (top === undefined || first === undefined || version !== undefined) return
  if (
    isAttempted(
      [...topLevelOf(view)].map(({ match }) => match),
      'detent',
    )
  )
    return
  const line = `detent ${languageVersion}`
  yield {
    at: headPlace(first, first.match),
    message: `No version line: the file does not say which version of the language it is in. A later tool could read its words differently: begin it with \`${line}\`.`,
    fixes: [replaceFix(`Begin the file with \`${line}\``, { chunk: top, start: 0, end: 0 }, `${line}\n\n`)],
  }
}

export const missingKey: Check = {
  code: 'missing-key',
  severity: 'error',
  title: 'Something that predictions need is not there',
  page: {
    what: 'A definition without a key that it needs, a table without a row, a module with neither set of figures, a profile that has no part, cooler, room or steps from anywhere, and a file without its `detent` line. A key on a line in error is not reported as missing as well. In a profile that others start from and complete, and in a file that others use, it is information only: such a profile may be only a beginning.',
    why: 'Nothing is guessed in place of a measurement: until the value is there, every profile that rests on it has no prediction and no check of its heat or voltage.',
    remedy:
      'Measure it, or take it from a datasheet, and write it down. Only you can know the value, so the only quick fix is for the `detent` line.',
    example: 'load render {\n  activity 80 %\n}',
  },
  *inChunk(chunk) {
    yield* inBlocks(chunk)
  },
  *inFile({ view, usedByOthers }) {
    yield* versionLine(view)
    for (const definition of view.document.definitions) {
      if (definition.kind !== 'profile' && isWhole(definition)) yield* inBenchDefinition(view, definition)
    }
    yield* inProfiles(view, usedByOthers)
  },
}
