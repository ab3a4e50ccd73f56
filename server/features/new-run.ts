/** A `run` block written from a log. */

import { parseFile } from '../../grammar/file.ts'
import { matchChunk } from '../../grammar/match.ts'
import type { TextEdit } from '../../grammar/printer.ts'
import { chunkAt, type SourceFile, type Span } from '../../grammar/tree.ts'
import type { Match } from '../../grammar/values.ts'
import { builtInLoads, isBuiltInLoad } from '../../grammar/vocabulary/index.ts'
import type { ColumnKind } from '../bench/log/mapping.ts'
import { type Proposal, proposeMapping, runText } from '../bench/log/propose.ts'
import type { LogSource } from '../bench/log/source.ts'
import { readChunk } from '../semantic/definitions.ts'
import { fileName, normalizeUri, resolveUri } from '../workspace/files.ts'
import type { Document, FileView, Workspace } from '../workspace/workspace.ts'
import { usePath } from './uses.ts'

export interface AskedRun {
  /** The file that the run goes into. */
  readonly uri: string
  readonly log: string
  readonly profile: string
  readonly load: string
}

export interface NewRun {
  readonly name: string
  readonly edit: TextEdit
  /** The run's name in the text as it is with the edit. */
  readonly at: Span
  /** What was taken for what, what was left out, and what is missing, in sentences. */
  readonly told: string
  /** Whether something of it is a guess to be looked at. */
  readonly doubtful: boolean
}

/** One sentence for the person. */
export interface NoRun {
  readonly trouble: string
}

/** What a run of a file can be of, and under which load; the profile at the place first. */
export interface RunChoices {
  readonly profiles: readonly string[]
  readonly loads: readonly string[]
}

export function runChoices({ document, scope }: FileView, offset: number): RunChoices {
  const { chunk } = chunkAt(document.source, offset)
  const start = document.starts.get(chunk) ?? 0
  const around = readChunk(chunk).definitions.find(({ kind, match: { statement } }) => {
    return kind === 'profile' && offset >= start + statement.start && offset <= start + statement.end
  })
  const names = scope.all('profile').map(({ name }) => name)
  const first = names.filter(name => name === around?.name)
  return {
    profiles: [...first, ...names.filter(name => name !== around?.name)],
    loads: [...scope.all('load').map(({ name }) => name), ...builtInLoads],
  }
}

/** A name made of the log's, which no run of the loaded files has yet. */
function freshName(workspace: Workspace, log: string): string {
  const words = fileName(log)
    .replace(/\.[^.]*$/, '')
    .normalize('NFKD')
    .toLowerCase()
    .split(/[^a-z0-9]+/)
    .filter(word => word !== '')
  const plain = words.join('-')
  const base = plain === '' ? 'run' : /^[a-z]/.test(plain) ? plain : `run-${plain}`
  const taken = new Set<string>()
  for (const { definitions } of workspace.documents())
    for (const { kind, name } of definitions) if (kind === 'run') taken.add(name)
  for (let number = 1; ; number++) {
    const name = number === 1 ? base : `${base}-${number}`
    if (!taken.has(name)) return name
  }
}

/** Why the file sees no definition of this name, and what to do. */
function unseen(workspace: Workspace, document: Document, kind: 'profile' | 'load', name: string): string {
  for (const other of workspace.documents()) {
    if (!other.definitions.some(one => one.kind === kind && one.name === name)) continue
    const path = usePath(document.uri, other.uri)
    if (path === undefined || other === document) continue
    const use = `use "${path.replaceAll('"', '""')}"`
    return `The ${kind} ${name} is in ${fileName(other.uri)}: write ${use} into ${fileName(document.uri)} first.`
  }
  return `There is no ${kind} ${name} in ${fileName(document.uri)} or the files it uses.`
}

/** The end of the line that an offset is in, without its line end. */
function lineEnd(text: string, offset: number): number {
  const found = text.slice(offset).search(/[\r\n]/)
  return found < 0 ? text.length : offset + found
}

/** Behind the last run of the file, so that runs stay together; else behind everything. */
function placeFor({ source, starts, definitions }: Document): number {
  const { text } = source
  const last = definitions.findLast(({ kind }) => kind === 'run')
  if (last === undefined) return text.trimEnd().length
  return lineEnd(text, (starts.get(last.chunk) ?? 0) + last.match.statement.end)
}

/** The edit, separated from what stands around it by an empty line, and where the block begins in the new text. */
export function runEdit(document: Document, block: string): { readonly edit: TextEdit; readonly begins: number } {
  const { text } = document.source
  const newline = text.includes('\r\n') ? '\r\n' : '\n'
  const at = placeFor(document)
  const before = at === 0 ? '' : newline + newline
  const own = before + block.trimEnd().replaceAll('\n', newline)
  const rest = text.slice(at)
  const begins = at + before.length
  if (rest.trim() === '') return { edit: { start: at, end: text.length, text: own + newline }, begins }
  const isSeparated = /^(?:\r\n|\r|\n)[^\S\r\n]*[\r\n]/.test(rest)
  return { edit: { start: at, end: at, text: isSeparated ? own : own + newline }, begins }
}

function isSound(match: Match): boolean {
  return match.sound && match.children.every(isSound)
}

const problemsIn = ({ chunks }: SourceFile): number => chunks.reduce((sum, { chunk }) => sum + chunk.problems.length, 0)

/** Where the run's name stands once the edit is made; undefined where the block would not read there as it stands. */
function readBack({ source }: Document, edit: TextEdit, begins: number, name: string): Span | undefined {
  const text = source.text.slice(0, edit.start) + edit.text + source.text.slice(edit.end)
  const after = parseFile(text, source)
  const { chunk, start } = chunkAt(after, begins)
  const run = readChunk(chunk).definitions.find(one => one.kind === 'run' && one.name === name)
  if (run === undefined || start + run.match.statement.start !== begins || !isSound(run.match)) return undefined
  // Errors elsewhere are left alone; a lost brace above would take the block in.
  if (problemsIn(after) !== problemsIn(source) || !matchChunk(chunk).includes(run.match)) return undefined
  const above = chunkAt(source, Math.max(0, edit.start - 1)).chunk
  if (above.problems.some(({ reason }) => reason === 'unclosed-block' || reason === 'unclosed-string')) return undefined
  return { start: start + run.nameSpan.start, end: start + run.nameSpan.end }
}

const kinds: readonly ColumnKind[] = ['time', 'clock', 'voltage', 'power', 'current', 'die', 'plate', 'coolant']
/** So many columns that were left out are named; the others are counted. */
const NAMED = 8

function listed(words: readonly string[]): string {
  const others = words.slice(0, -1)
  return others.length === 0 ? words.join() : `${others.join(', ')} and ${words.at(-1)}`
}

function quotedList(headers: readonly string[]): string {
  const named = headers.slice(0, NAMED).map(header => `"${header}"`)
  const more = headers.length - named.length
  return listed(more > 0 ? [...named, `${more} more`] : named)
}

/** The guesses of a mapping, a sentence each. */
function doubts({ columns }: Proposal): string[] {
  return columns.flatMap(({ kind, header, unit, unitFrom, others }) => [
    ...(others.length > 0 ? [`${kind} is taken from "${header}", but ${quotedList(others)} could also be meant`] : []),
    ...(unitFrom === 'numbers' && kind !== 'time'
      ? [`the unit of "${header}", ${unit.symbol}, is a guess from its numbers`]
      : []),
  ])
}

function toldOf(name: string, proposal: Proposal): Pick<NewRun, 'told' | 'doubtful'> {
  const taken = new Set(proposal.columns.map(({ header }) => header))
  const left = [...new Set(proposal.headers)].filter(header => header !== '' && !taken.has(header))
  const missing = kinds.filter(kind => !proposal.columns.some(column => column.kind === kind))
  const guesses = doubts(proposal)
  const told = [
    `Run ${name} takes ${listed(proposal.columns.map(({ kind }) => kind))} from its log.`,
    ...(missing.length === 0 ? [] : [`Not found in it: ${listed(missing)}.`]),
    ...(missing.includes('time') ? ['It has no time, so its rows count as 1 s apart.'] : []),
    ...(left.length === 0 ? [] : [`Left out: ${quotedList(left)}.`]),
    ...(guesses.length === 0 ? [] : [`Please check: ${guesses.join('; ')}.`]),
    'Add the date, air and humidity yourself.',
  ]
  return { told: told.join(' '), doubtful: guesses.length > 0 }
}

/** Reads the head of a log. Returns a sentence where nothing can be proposed. */
async function proposalFor(source: LogSource, log: string): Promise<Proposal | string> {
  let why = `There is no file ${fileName(log)}, or it cannot be read here.`
  const noting: LogSource = {
    open: async uri => {
      const file = await source.open(uri)
      if (file === undefined) return undefined
      why = `Nothing at the start of ${fileName(log)} looks like a table with a column for clock, voltage, power or temperature.`
      return {
        size: file.size,
        chunks: async function* () {
          try {
            yield* file.chunks()
          } catch (error) {
            why = `${fileName(log)} cannot be read: ${error instanceof Error ? error.message : String(error)}.`
            throw error
          }
        },
      }
    },
  }
  return (await proposeMapping(noting, log)) ?? why
}

/**
 * Writes the block of a run from its log. The file is read as it is once the log's head is there.
 * @param source where the log is read from
 */
export async function newRun(workspace: Workspace, source: LogSource, asked: AskedRun): Promise<NewRun | NoRun> {
  const log = normalizeUri(asked.log)
  const proposal = await proposalFor(source, log)
  if (typeof proposal === 'string') return { trouble: proposal }
  const view = workspace.view(asked.uri)
  if (view === undefined) return { trouble: 'The file no longer exists.' }
  const { document, scope } = view
  if (scope.find('profile', asked.profile) === undefined) {
    return { trouble: unseen(workspace, document, 'profile', asked.profile) }
  }
  const isKnown = scope.find('load', asked.load) !== undefined || isBuiltInLoad(asked.load)
  if (!isKnown) return { trouble: unseen(workspace, document, 'load', asked.load) }
  const path = usePath(document.uri, log)
  if (path === undefined || resolveUri(document.uri, path) !== log) {
    return {
      trouble: `A run names its log by a path relative to its own file, and there is none from ${fileName(document.uri)} to ${fileName(log)}. Save the file beside the log first.`,
    }
  }
  const name = freshName(workspace, log)
  const { edit, begins } = runEdit(
    document,
    runText({ name, profile: asked.profile, load: asked.load, path }, proposal),
  )
  const at = readBack(document, edit, begins, name)
  if (at === undefined) {
    return {
      trouble: `The run cannot be added to ${fileName(document.uri)}: fix the errors above its place first.`,
    }
  }
  return { name, edit, at, ...toldOf(name, proposal) }
}
