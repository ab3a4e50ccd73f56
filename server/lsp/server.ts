/**
 * The server: one session over one connection.
 *
 * Deliberately absent: signature help (completion and hover say what may follow), formatting while one types (a line that
 * is begun stays as it was typed), hierarchies of calls and types, and commands that run a program.
 */

import type { Connection, InitializeParams, InitializeResult, ServerCapabilities } from 'vscode-languageserver'
import { createService } from '../service.ts'
import { normalizeUri } from '../workspace/files.ts'
import { createBackground, tellAll } from './background.ts'
import { benchRuns } from './bench-runs.ts'
import { inlayHints, lenses } from './beside.ts'
import { besideCommits } from './beside-older.ts'
import { readClient } from './client.ts'
import { semanticTokens } from './colours.ts'
import { commands } from './commands.ts'
import { courses } from './courses.ts'
import { createPublisher, type Publisher, pulledDiagnostics } from './diagnostics.ts'
import { documentSync } from './documents.ts'
import { formatting, quickFixes } from './editing.ts'
import { evidence } from './evidence.ts'
import { expectations } from './expectations.ts'
import { extent, prepareInSlices } from './extent.ts'
import type { Feature } from './feature.ts'
import { createFiles, type Disk, type OpenPlaces } from './files.ts'
import { boundsOf, openPlaces, placeIn } from './folders.ts'
import { createFurther } from './further.ts'
import { completion, hover, workings } from './hover-completion.ts'
import { inTurns } from './log-reading.ts'
import { definition, fileRenames, highlights, links, references, rename, selection, symbols } from './navigation.ts'
import { papers } from './papers.ts'
import { report } from './report.ts'
import { resolvedProfiles } from './resolved.ts'
import { notTrusted, revisions } from './revisions.ts'
import { reportTrouble, type Session } from './session.ts'
import { readSettings, type Settings } from './settings.ts'
import { since } from './since.ts'
import { smallChanges } from './small-changes.ts'
import { folding, outline } from './structure.ts'
import { createSlices } from './turns.ts'
import { createTyping } from './typing.ts'
import { views } from './views.ts'
import { watching } from './watching.ts'
import { whatIfs } from './what-if.ts'

export interface ServerOptions {
  readonly version: string
  /** The files beside the server, where there are any. */
  readonly disk: ((open: () => OpenPlaces) => Disk) | undefined
  /** Where the reference page of the checks is; the client may know another place. */
  readonly pages: string | undefined
  /** Where the server lives in a worker: whether that holds the lock by which the client notices its end. */
  readonly holdsLock?: Promise<boolean>
}

interface SettingsStore {
  readonly of: Session['settingsOf']
  readonly forget: Session['forgetSettings']
  readonly reset: (section: unknown) => void
}

/** Settings by file; forgotten when the client says that they changed, and when the file is closed. */
function createSettings(session: () => Session): SettingsStore {
  const known = new Map<string, Promise<Settings>>()
  let told: Settings = readSettings(undefined)
  return {
    of: uri => {
      const { client, connection, spellings, folders } = session()
      if (!client.asksConfiguration) return Promise.resolve(told)
      const key = normalizeUri(uri)
      // Closed files of one folder share its settings; a folder holds many of them.
      const scope = spellings.get(key) ?? placeIn(folders, key)?.folder ?? uri
      let settings = known.get(scope)
      if (settings === undefined) {
        settings = connection.workspace
          .getConfiguration({ scopeUri: scope, section: 'detent' })
          .then(readSettings, () => readSettings(undefined))
        known.set(scope, settings)
      }
      return settings
    },
    forget: uri => {
      known.delete(session().spellings.get(normalizeUri(uri)) ?? uri)
    },
    reset: section => {
      known.clear()
      if (section !== undefined) told = readSettings(section)
    },
  }
}

function merge(parts: readonly ServerCapabilities[]): ServerCapabilities {
  const workspace = Object.assign({}, ...parts.map(part => part.workspace)) as ServerCapabilities['workspace']
  const all = Object.assign({}, ...parts) as ServerCapabilities
  return workspace !== undefined && Object.keys(workspace).length > 0 ? { ...all, workspace } : all
}

/** Registers all handlers on a connection; the caller lets it listen. */
export function serve(connection: Connection, options: ServerOptions): void {
  let publisher: Publisher | undefined
  const settings = createSettings(() => session)
  const disk = options.disk?.(() => openPlaces(session))
  const files = createFiles(connection, disk, () => session.client.readsFiles)
  const revisionOf: Session['revisionOf'] =
    disk &&
    (async (uri, revision) => {
      if (!session.isTrusted) throw new Error(notTrusted)
      return disk.revisionOf(uri, revision)
    })
  const service = createService(files, {
    logs: inTurns(files.logs),
    extent,
    revisions: revisionOf,
    bounds: boundsOf(() => session),
  })
  const session: Session = {
    connection,
    service,
    readsLogs: () => disk !== undefined || session.client.readsFiles,
    followLogs: () => Promise.resolve(),
    revisionOf,
    isInRepository: uri => disk?.isInRepository(uri) === true,
    isTrusted: false,
    background: createBackground(service.runs, () => tellAll(session, publisherOf().changed)),
    files,
    client: readClient({ processId: null, rootUri: null, capabilities: {} }),
    open: new Map(),
    spellings: new Map(),
    folders: [],
    found: new Set(),
    scanned: Promise.resolve(),
    settingsOf: settings.of,
    changed: new Set(),
    forgetSettings: settings.forget,
    typing: createTyping({
      beingTyped: (uri, at) => service.features.beingTyped(uri, at),
      waits: waits => {
        if (session.client.showsWaiting) void connection.sendNotification('detent/waiting', { waits })
      },
      shown: uris => publisherOf().changed(uris, undefined),
    }),
    seen: new Map(),
    further: createFurther(
      uri => prepareInSlices(service, uri, createSlices('folders'), () => !session.open.has(uri)),
      uri => publisherOf().changed([uri], undefined),
      error => reportTrouble(session, 'Predicting', error),
    ),
    commands: new Map(),
    tokens: 0,
    troubled: false,
  }
  const publisherOf = (): Publisher => {
    publisher ??= createPublisher(session)
    return publisher
  }
  const features: readonly Feature[] = [
    documentSync(publisherOf),
    watching(publisherOf, settings.reset),
    pulledDiagnostics,
    hover,
    completion,
    outline,
    folding,
    formatting,
    quickFixes,
    definition,
    references,
    highlights,
    rename,
    symbols,
    selection,
    links,
    fileRenames,
    semanticTokens,
    inlayHints,
    lenses(publisherOf),
    expectations,
    resolvedProfiles,
    papers,
    workings,
    benchRuns,
    evidence,
    revisions(publisherOf),
    report,
    views,
    besideCommits,
    smallChanges,
    courses,
    whatIfs,
    since(publisherOf),
    commands,
  ]
  const initialized = (params: InitializeParams): InitializeResult => {
    const client = readClient(params)
    session.isTrusted = client.isTrusted
    session.client = client.pages === undefined ? { ...client, pages: options.pages } : client
    const root = typeof params.rootUri === 'string' ? [params.rootUri] : []
    session.folders = params.workspaceFolders?.map(({ uri }) => uri) ?? root
    if (client.settings !== undefined) settings.reset(client.settings)
    const advertised: ServerCapabilities[] = []
    for (const feature of features) {
      const capabilities = feature.advertise(session.client)
      if (capabilities === undefined) continue
      advertised.push(capabilities)
      feature.register(session)
    }
    return {
      capabilities: { positionEncoding: 'utf-16', ...merge(advertised) },
      serverInfo: { name: 'detent', version: options.version },
    }
  }
  connection.onInitialize(params => {
    const result = initialized(params)
    // Not before the lock is held: a client that hears of it may rely on it from then on.
    return options.holdsLock === undefined
      ? result
      : options.holdsLock.then(holdsLock => ({
          ...result,
          capabilities: { ...result.capabilities, experimental: { holdsLock } },
        }))
  })
  connection.onShutdown(() => {
    session.background.stop()
    session.typing.stop()
    publisher?.stop()
  })
}
