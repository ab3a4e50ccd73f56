/** Profiles by their names, as they are now and as they were at a revision. */

import { existsSync } from 'node:fs'
import { dirname, resolve } from 'node:path'
import type { PlacedProfile } from '../features/compare/run-sides.ts'
import type { Evaluation } from '../semantic/evaluate.ts'
import { createService, didYouMean, type Service, shownPlace } from '../service.ts'
import type { Bounds } from '../workspace/bounds.ts'
import { GitTrouble, type Revision, revisionOf } from '../workspace/git.ts'
import { pathOfUri } from '../workspace/node-files.ts'
import { type AskedFile, askedFiles, loadFiles, type ReachOptions, serviceFor, shownPath } from './files.ts'
import { type Io, UnusableCall } from './io.ts'
import { type AsIf, lay } from './stand-ins.ts'

/** A loaded profile and where it stands. */
export interface NamedProfile extends PlacedProfile {
  readonly service: Service
  /** The file's path as outputs show it. */
  readonly file: string
  /** The line of the name, from 1. */
  readonly line: number
}

/** The files of a call, loaded. */
export interface Loaded {
  readonly io: Io
  readonly service: Service
  readonly files: readonly AskedFile[]
  readonly bounds: Bounds
}

/** @param runs whether what is loaded reads logs and revisions of runs where it is asked to */
export async function loadAsked(
  io: Io,
  paths: readonly string[],
  options: ReachOptions,
  runs: 'with runs' | 'without runs' = 'without runs',
): Promise<Loaded> {
  const asked = await askedFiles(io, paths, options)
  const service = serviceFor(asked, runs)
  const files = await loadFiles(io, service, asked)
  return { io, service, files, bounds: asked.bounds }
}

const profileForm = /^[a-z][a-z0-9]*(?:-[a-z0-9]+)*(?:@(?<revision>.+))?$/

/** A profile as a call names it: `NAME`, or `NAME@REVISION`. */
export interface AskedProfile {
  readonly name: string
  readonly revision: string | undefined
}

/**
 * Sorts the arguments of a call: profiles come first, paths behind them. What is there as a file or folder is a path.
 * @param least so many at the beginning are profiles even where something of that name is there
 */
export function namesAndPaths(
  io: Io,
  args: readonly string[],
  least: number,
): { readonly profiles: readonly AskedProfile[]; readonly paths: readonly string[] } {
  const isPath = (argument: string): boolean =>
    !profileForm.test(argument) || (!argument.includes('@') && existsSync(resolve(io.folder, argument)))
  const found = args.findIndex((argument, index) => (index < least ? !profileForm.test(argument) : isPath(argument)))
  const end = found < 0 ? args.length : found
  const profiles = args.slice(0, end).map(argument => ({
    name: argument.split('@')[0] ?? '',
    revision: profileForm.exec(argument)?.groups?.revision,
  }))
  return { profiles, paths: args.slice(end) }
}

/**
 * A named profile evaluated, with others in the place of what it names. Overlays are applied here to an older profile, and
 * to those of now when the files are loaded. Errors: `UnusableCall` where a name is unknown.
 */
export function evaluationOf({ service, uri, name, label, commit }: NamedProfile, asIf: AsIf): Evaluation {
  if (commit !== undefined) lay(service.workspace, asIf, [uri], [name])
  const { names } = asIf
  const found = Object.keys(names).length === 0 ? service.evaluations(uri) : service.evaluationsWith(uri, names)
  if ('unknown' in found)
    throw new UnusableCall(`There is no ${found.unknown} in the file of ${label} or those it uses.`)
  const evaluation = found.find(({ profile }) => profile.definition.name === name)
  if (evaluation === undefined) throw new UnusableCall(`There is no profile ${label} here.`)
  return evaluation
}

/** Applies the overlays of a call to the profiles that it names, or to all of its files. */
export function layOverAsked(loaded: Loaded, asIf: AsIf, asked: readonly AskedProfile[]): void {
  const uris = loaded.files.map(({ uri }) => uri)
  const now = asked.filter(({ revision }) => revision === undefined).map(({ name }) => name)
  const homes = now.map(name => profileNamed(loaded, name).uri)
  // Where only older profiles are asked for, nothing of today's is.
  if (asked.length === 0 || now.length > 0) lay(loaded.service.workspace, asIf, [...homes, ...uris], now)
}

/** The loaded files of these and of those that they use which define a profile of this name. */
function filesWith(service: Service, uris: readonly string[], name: string): readonly string[] {
  const defines = (uri: string): boolean =>
    service.workspace.document(uri)?.definitions.some(one => one.kind === 'profile' && one.name === name) === true
  const asked = uris.filter(defines)
  if (asked.length > 0) return asked
  const used = uris.flatMap(uri => service.workspace.view(uri)?.documents.map(document => document.uri) ?? [])
  return [...new Set(used)].filter(defines)
}

function placed(
  io: Io,
  service: Service,
  uri: string,
  name: string,
  revision?: { name: string; commit: string },
): NamedProfile {
  const document = service.workspace.document(uri)
  const found = document?.definitions.find(one => one.kind === 'profile' && one.name === name)
  const offset = found === undefined ? 0 : (document?.starts.get(found.chunk) ?? 0) + found.nameSpan.start
  return {
    name,
    label: revision === undefined ? name : `${name}@${revision.name}`,
    service,
    workspace: service.workspace,
    uri,
    file: shownPath(io, pathOfUri(uri) ?? uri),
    line: document === undefined ? 1 : shownPlace(document, offset).line,
    commit: revision?.commit,
  }
}

/**
 * The profile of this name in the files of the call.
 * Errors: `UnusableCall` where there is none, or more than one.
 */
export function profileNamed({ io, service, files }: Loaded, name: string): NamedProfile {
  const found = filesWith(
    service,
    files.map(file => file.uri),
    name,
  )
  const [only, ...others] = found
  if (only === undefined) {
    const names = [...service.workspace.documents()].flatMap(({ definitions }) =>
      definitions.filter(one => one.kind === 'profile').map(one => one.name),
    )
    const meant = didYouMean(name, names)[0]
    const others = names.length === 0 ? '.' : `; there ${names.length === 1 ? 'is' : 'are'} ${names.join(', ')}.`
    throw new UnusableCall(
      `There is no profile ${name} here${meant === undefined ? others : `; did you mean ${meant}?`}`,
    )
  }
  if (others.length > 0) {
    const where = found.map(uri => shownPath(io, pathOfUri(uri) ?? uri)).join(', ')
    throw new UnusableCall(`There is more than one profile ${name}: ${where}. Name the file.`)
  }
  return placed(io, service, only, name)
}

/**
 * Opens a revision of the repository that a folder belongs to.
 * Errors: `UnusableCall` in one line where git, the repository or the revision is not there.
 */
export async function openRevision(folder: string, revision: string): Promise<Revision> {
  try {
    return await revisionOf(folder, revision)
  } catch (error) {
    throw error instanceof GitTrouble ? new UnusableCall(error.message) : error
  }
}

/**
 * The profile of this name as it was at a revision: in the file where it stands now, else in whatever file below the
 * folder of the call had it.
 * Errors: `UnusableCall` where there is none, or more than one.
 */
export async function profileAtRevision(loaded: Loaded, name: string, revision: string): Promise<NamedProfile> {
  const { io, files } = loaded
  const now = filesWith(
    loaded.service,
    files.map(file => file.uri),
    name,
  )
  const path = pathOfUri(now[0] ?? '')
  const {
    commit,
    files: older,
    profilesBelow,
  } = await openRevision(path === undefined ? io.folder : dirname(path), revision)
  const service = createService(older, { bounds: loaded.bounds })
  const candidates = async (): Promise<readonly string[]> => {
    await service.workspace.load(now)
    const same = filesWith(service, now, name).filter(uri => now.includes(uri))
    if (same.length > 0) return same
    const all = await profilesBelow(io.folder)
    await service.workspace.load(all)
    return filesWith(service, all, name)
  }
  const [only, ...others] = await candidates()
  if (only === undefined) throw new UnusableCall(`There is no profile ${name} at the revision ${revision}.`)
  if (others.length > 0) {
    throw new UnusableCall(`There is more than one profile ${name} at the revision ${revision}. Name the file.`)
  }
  return placed(io, service, only, name, { name: revision, commit })
}
