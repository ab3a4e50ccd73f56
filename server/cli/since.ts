/** `detent compare --since`: the bench as it was, in git or in a folder, beside the bench as it is. */

import { relative, resolve, sep } from 'node:path'
import type { SinceSide } from '../features/since/types.ts'
import { changesSince, createService, isWorse, type Service, type ServiceOptions, sinceMarkdown } from '../service.ts'
import { pathOfUri } from '../workspace/node-files.ts'
import { type AskedFile, askedFiles, loadFiles, type ReachOptions, serviceFor, shownPath } from './files.ts'
import { makeRunsInSight } from './follow-course.ts'
import { type ExitCode, type Io, UnusableCall } from './io.ts'
import { type AskedProfile, openRevision } from './named-profiles.ts'
import { sinceJson, sinceText } from './output/since-output.ts'
import { type AsIf, asIfLines, layStatements } from './stand-ins.ts'

/** What begins like a path is a folder; all else is whatever git takes for a commit. */
const folderForm = /^(?:[./\\]|[A-Za-z]:[\\/])/

/** A side as the comparison sees it, overlaid; expectations over time are made where they are asked for. */
function sideOf(io: Io, service: Service, files: SinceSide['files'], asIf: AsIf): SinceSide {
  layStatements(service, asIf, files)
  for (const { uri } of files) for (const evaluation of service.evaluations(uri)) service.expectations(evaluation)
  makeRunsInSight(io, service)
  return { ...service, files }
}

interface Older {
  readonly side: SinceSide
  /** What it is called for people. */
  readonly name: string
}

/** The folder that all paths of a call are counted from: the one that is named, else that of the call. */
function topOf(io: Io, paths: readonly string[], files: readonly AskedFile[]): string {
  const [only] = paths
  const path = paths.length === 1 && only !== undefined ? resolve(io.folder, only) : io.folder
  return files.some(file => file.path === path) ? io.folder : path
}

const slashed = (path: string): string => path.split(sep).join('/')

async function olderFolder(io: Io, since: string, top: string, options: SinceOptions): Promise<Older> {
  const folder = resolve(io.folder, since)
  const asked = await askedFiles(io, [since], options)
  const service = serviceFor(asked, 'without runs')
  const files = await loadFiles(io, service, asked)
  // Named as they would be beside today's, so that the two find each other.
  const named = files.map(({ uri, path }) => ({ uri, name: shownPath(io, resolve(top, relative(folder, path))) }))
  return { side: sideOf(io, service, named, options.with), name: slashed(since) }
}

async function olderRevision(
  io: Io,
  since: string,
  top: string,
  isWhole: boolean,
  files: readonly AskedFile[],
  bounds: ServiceOptions['bounds'],
  asIf: AsIf,
): Promise<Older> {
  const { commit, files: older, profilesBelow } = await openRevision(top, since)
  const service = createService(older, { bounds })
  const now = files.map(({ uri }) => uri)
  // A folder that is asked for as a whole has what is gone since as well.
  const uris = isWhole ? [...new Set([...now, ...(await profilesBelow(top))])].sort() : now
  await service.workspace.load(uris)
  const there = uris.filter(uri => service.workspace.document(uri) !== undefined)
  const named = there.map(uri => ({ uri, name: shownPath(io, pathOfUri(uri) ?? uri) }))
  return { side: sideOf(io, service, named, asIf), name: `${since} (${commit.slice(0, 8)})` }
}

export interface SinceOptions extends ReachOptions {
  readonly since: string
  readonly output: string
  readonly failOn?: string
  readonly with: AsIf
}

/** Prints what differs. @returns the exit code: 1 where something is worse and that was asked about */
export async function compareSince(
  io: Io,
  profiles: readonly AskedProfile[],
  paths: readonly string[],
  options: SinceOptions,
): Promise<ExitCode> {
  const asked = await askedFiles(io, paths, options)
  const service = serviceFor(asked, 'without runs')
  const files = await loadFiles(io, service, asked)
  const top = topOf(io, paths, files)
  const isWhole = paths.every(path => !files.some(file => file.path === resolve(io.folder, path)))
  const { since } = options
  const older = folderForm.test(since)
    ? await olderFolder(io, since, top, options)
    : await olderRevision(io, since, top, isWhole, files, asked.bounds, options.with)
  const now = sideOf(
    io,
    service,
    files.map(({ uri, shown }) => ({ uri, name: shown })),
    options.with,
  )
  const names = profiles.map(({ name }) => name)
  for (const name of names) {
    const isThere = [older.side, now].some(side =>
      side.files.some(({ uri }) => side.evaluations(uri).some(({ profile }) => profile.definition.name === name)),
    )
    if (!isThere) throw new UnusableCall(`There is no profile ${name} here, neither now nor at ${since}.`)
  }
  const found = changesSince(older.side, now, names)
  if (options.output === 'text') for (const line of asIfLines(options.with)) io.out.write(`${line}\n`)
  if (options.output === 'json') io.out.write(sinceJson(found, since))
  else if (options.output === 'markdown') io.out.write(sinceMarkdown(found, older.name, asIfLines(options.with)))
  else io.out.write(sinceText(found, older.name, io))
  return options.failOn === 'worse' && isWorse(found) ? 1 : 0
}
