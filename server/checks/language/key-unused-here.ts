import type { Match } from '../../../grammar/values.ts'
import { coolerConstants, partConstants } from '../../semantic/constants.ts'
import { coolerKinds } from '../../semantic/coolers/index.ts'
import { type Definition, entries, entry, quantity } from '../../semantic/definitions.ts'
import { hasSupply, supplyWords } from '../../semantic/drives.ts'
import { correlationIn } from '../../semantic/gather.ts'
import { groupViews } from '../../semantic/group-view.ts'
import { type ResolvedProfile, resolveProfile, type Sourced } from '../../semantic/profile.ts'
import { settingsOf } from '../../semantic/settings.ts'
import { listed, quotedList } from '../../wording/counts.ts'
import type { FileView } from '../../workspace/workspace.ts'
import { removalSpan, removeFix } from '../support/edits.ts'
import { headPlace, isOwn } from '../support/place.ts'
import { untakenInPart, untakenInProfile, untakenOfMany } from '../support/untaken-keys.ts'
import { matchesOfChunk } from '../support/walk.ts'
import type { Check, FileContext, Found } from '../types.ts'

function unused(profile: ResolvedProfile, sourced: Sourced, why: string): Found {
  const { chunk } = profile.definition
  return {
    at: headPlace({ chunk }, sourced.match),
    message: `${why} Remove the line, or keep it for another bench and accept this with \`allow\`.`,
    fixes: [removeFix('Remove it', chunk, sourced.match.statement)],
  }
}

interface Line {
  readonly line: Match
  /** The first of its constants that has no `±`, as it is written. */
  readonly exact: string
}

/** Correlations of a constant with itself, or of one without an uncertainty: one finding for each such constant. */
function* unusedCorrelations({ scope }: FileView, definition: Definition): Iterable<Found> {
  const { kind, match, chunk } = definition
  if (kind !== 'part' && kind !== 'cooler') return
  // A line that does not read may be the one with the uncertainty.
  if (match.children.some(child => !child.sound)) return
  const lines: Line[] = []
  for (const line of entries(match, 'correlated')) {
    const found = correlationIn(line, kind)
    if (found === undefined) continue
    if (found.first === found.second && found.cooler === undefined) {
      yield {
        at: headPlace({ chunk }, line),
        message:
          'A constant is correlated with itself by 1, whatever stands here. The line changes nothing: name another constant, or remove it.',
        fixes: [removeFix('Remove it', chunk, line.statement)],
      }
      continue
    }
    const other = found.cooler === undefined ? definition : scope.find('cooler', found.cooler)
    const lacks = ([name, owner]: readonly [string, Definition | undefined]): boolean =>
      owner !== undefined && !uncertainIn(owner).some(one => one.name === name)
    const [exact] = [[found.first, definition] as const, [found.second, other] as const].filter(lacks)
    if (exact !== undefined) lines.push({ line, exact: exact[0].replace(/^\w+ /, '') })
  }
  for (const exact of new Set(lines.map(one => one.exact))) {
    const own = lines.filter(one => one.exact === exact).map(({ line }) => line)
    // Where the constant stands in this block, that is where its uncertainty was lost.
    const stated = entry(match, exact)
    const [first] = own
    if (first === undefined) continue
    const what = own.length === 1 ? 'the `correlated` line' : `${own.length} \`correlated\` lines`
    yield {
      at: headPlace({ chunk }, stated ?? first),
      message: `\`${exact}\` has no \`±\` here, so ${what} for it ${own.length === 1 ? 'changes' : 'change'} no interval. Write the uncertainty of the fit that gave ${own.length === 1 ? 'it' : 'them'}, or remove ${own.length === 1 ? 'the line' : 'the lines'}.`,
      fixes: [
        {
          title: own.length === 1 ? 'Remove the line' : `Remove the ${own.length} lines`,
          edits: own.map(line => ({ chunk, ...removalSpan(chunk, line.statement), text: '' })),
        },
      ],
    }
  }
}

function uncertainIn(definition: Definition): readonly { readonly name: string }[] {
  return (definition.kind === 'part' ? partConstants(definition) : coolerConstants(definition)).uncertain
}

/** Wiring and leads of a plate that no profile of the file drives by voltage; profiles of other files are not known here. */
function* unusedSupply({ view, usedByOthers }: FileContext, definition: Definition): Iterable<Found> {
  const { coolerKind, match, chunk, name } = definition
  if (usedByOthers || coolerKind === undefined || !coolerKinds[coolerKind].isDriven) return
  const lines = supplyWords.flatMap(word => entry(match, word) ?? [])
  if (lines.length === 0 || entry(match, 'supply-limit') !== undefined) return
  const users = view.document.definitions
    .filter(({ kind }) => kind === 'profile')
    .map(one => resolveProfile(view.scope, one))
    .filter(profile => profile.cooler === definition)
  if (users.length === 0 || users.some(profile => hasSupply(settingsOf(profile).profile.drive))) return
  for (const line of lines) {
    yield {
      at: headPlace({ chunk }, line),
      message: `No profile here drives \`${name}\` with \`drive supply\`, so \`${line.word?.word}\` changes no prediction; only the amperes and volts on the entry sheet count with it. Remove the line, or write \`drive supply\` where the supply keeps its voltage.`,
      fixes: [removeFix('Remove it', chunk, line.statement)],
    }
  }
}

/** A temperature beside constants that are drawn from the datasheet: those have one of their own. */
function* unusedTemperature({ kind, match, chunk }: Definition): Iterable<Found> {
  const module = kind !== 'cooler' ? undefined : entry(match, 'module')
  const line = module && entry(module, 'constants-at')
  if (module === undefined || line === undefined) return
  if (['seebeck', 'resistance', 'conductance'].every(word => entry(module, word) !== undefined)) return
  if (['at', 'current', 'voltage', 'difference'].some(word => entry(module, word) === undefined)) return
  yield {
    at: headPlace({ chunk }, line),
    message:
      'The module is drawn from its datasheet, whose figures say themselves at which temperature they hold, so `constants-at` changes no prediction. Remove the line, or state `seebeck`, `resistance` and `conductance`.',
    fixes: [removeFix('Remove it', chunk, line.statement)],
  }
}

export const keyUnusedHere: Check = {
  code: 'key-unused-here',
  severity: 'information',
  title: 'A line that changes nothing on this bench',
  page: {
    what: 'A key that the cooler of this kind does not use, `drive` without a thermoelectric plate, a `fan` table with chilled coolant, `set` rows beside one fixed voltage, `wiring` and `leads` of a plate that nothing drives with `drive supply`, `constants-at` beside datasheet figures, what is stated for every group of cores or every supply rail where each has its own, a `menu` field named after a group or rail where its setting is not entered for one, and `correlated` for a constant without `±` or with itself.',
    why: 'The line looks like a setting but has no effect.',
    remedy: 'Remove it, or correct the kind of the cooler if that is what is wrong.',
    example: 'cooler big-loop kind loop {\n  capacity 350 W\n}',
  },
  *inChunk(chunk) {
    for (const { match, parent } of matchesOfChunk(chunk)) {
      const kinds = match.word?.kinds
      const kind = parent?.values.get('kind')
      if (kinds === undefined || kind === undefined || !('text' in kind) || parent?.word?.word !== 'cooler') continue
      if ((kinds as readonly string[]).includes(kind.text)) continue
      yield {
        at: headPlace({ chunk }, match),
        message: `A cooler of kind \`${kind.text}\` does not use \`${match.word?.word}\`; ${quotedList(kinds)} ${kinds.length === 1 ? 'does' : 'do'}. The line changes no prediction: remove it, or correct the kind.`,
        fixes: [removeFix('Remove it', chunk, match.statement)],
      }
    }
  },
  *inFile(context) {
    for (const definition of context.view.document.definitions) {
      yield* unusedCorrelations(context.view, definition)
      yield* unusedSupply(context, definition)
      yield* unusedTemperature(definition)
      yield* untakenInPart(definition)
      yield* untakenOfMany(context.view, definition)
    }
  },
  *inProfile({ profile }) {
    // A line that does not read may be the one that names the cooler.
    if (profile.definition.match.children.some(child => !child.sound)) return
    yield* untakenInProfile(profile)
    const kind = profile.cooler?.coolerKind
    const drive = profile.key('drive')
    if (drive !== undefined && isOwn(profile, drive) && kind !== undefined && !coolerKinds[kind].isDriven) {
      yield unused(profile, drive, `The cooler is of kind \`${kind}\`, and only a thermoelectric plate is driven.`)
    }
    const fan = profile.key('fan')
    const ofKind = kind === undefined ? 'cools' : coolerKinds[kind].fan
    if (fan !== undefined && isOwn(profile, fan) && ofKind !== 'cools') {
      yield unused(profile, fan, `The cooler is of kind \`${kind}\`: ${ofKind.idle}.`)
    }
    yield* besideFixed(profile)
  },
}

/** `set` rows that only groups with one fixed voltage take. */
function* besideFixed(profile: ResolvedProfile): Iterable<Found> {
  const views = groupViews(profile)
  const isFixed = (view: ResolvedProfile): boolean => {
    const core = view.inner('voltage', 'core')
    return core !== undefined && quantity(core.match, 'fixed') !== undefined
  }
  const used = new Set(views.flatMap(view => (isFixed(view) ? [] : view.setRows().map(({ match }) => match))))
  /** By the row: all groups that take it. */
  const beside = new Map<Match, { readonly row: Sourced; readonly groups: string[] }>()
  for (const view of views.filter(isFixed)) {
    for (const row of view.setRows()) {
      if (!isOwn(profile, row) || used.has(row.match)) continue
      const known = beside.get(row.match) ?? { row, groups: [] }
      beside.set(row.match, known)
      if (view.group !== undefined) known.groups.push(view.group)
    }
  }
  for (const { row, groups } of beside.values()) {
    const whose = groups.length === 0 ? '' : ` of ${listed(groups)}`
    yield unused(profile, row, `The core voltage${whose} is one fixed value for all ratios, so this row is not used.`)
  }
}
