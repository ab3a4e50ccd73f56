/** The option `--with`: statements that overlay the files for one call. */

import { Option } from 'commander'
import { layOver, type Overlay, OverlayTrouble, readOverlay, type Service, type StandInNames } from '../service.ts'
import type { Workspace } from '../workspace/workspace.ts'
import { UnusableCall } from './io.ts'
import { inOneLine } from './lines.ts'

const standInKinds: readonly string[] = ['part', 'cooler', 'room', 'board']

/** What the arguments of all `--with` come to. */
export interface AsIf {
  /** Definitions that take the place of those a profile names. */
  readonly names: StandInNames
  /** Statements that overlay the bench, in their order. */
  readonly overlays: readonly Overlay[]
  /** The arguments as they were written. */
  readonly texts: readonly string[]
}

export const asItStands: AsIf = { names: {}, overlays: [], texts: [] }

/** Trouble with an overlay is trouble with the call. */
function usable<T>(read: () => T): T {
  try {
    return read()
  } catch (error) {
    throw error instanceof OverlayTrouble ? new UnusableCall(inOneLine(error.message)) : error
  }
}

function withAlso(argument: string, before: AsIf): AsIf {
  const texts = [...before.texts, argument]
  const equals = argument.indexOf('=')
  const [kind, name] = [argument.slice(0, Math.max(0, equals)).trim(), argument.slice(equals + 1).trim()]
  // A comparison has its sign behind more than one word.
  if (!/^[a-z]+$/.test(kind)) {
    const overlay = usable(() => readOverlay(argument, texts.length))
    return { ...before, texts, overlays: [...before.overlays, overlay] }
  }
  if (!standInKinds.includes(kind) || !/^[a-z][a-z0-9-]*$/.test(name)) {
    throw new UnusableCall(
      `--with ${texts.length}: write kind=name, the kind one of ${standInKinds.join(', ')}, or a statement of the language.`,
    )
  }
  return { ...before, texts, names: { ...before.names, [kind]: name } }
}

/** `--with`, as often as wanted; the later wins. */
export function standInOption(): Option {
  return new Option(
    '--with <statement>',
    'overlay the files for this call: kind=name for another part, cooler, room or board, or any statement; may be repeated',
  )
    .argParser(withAlso)
    .default(asItStands, 'as they stand')
}

/**
 * Applies the statements of a call to what is loaded.
 * @param uris the files asked for
 * @param profiles the profiles asked for; none for all of these files
 * Errors: `UnusableCall` where there is no place for one.
 */
export function lay(
  workspace: Workspace,
  { overlays }: AsIf,
  uris: readonly string[],
  profiles: readonly string[] = [],
): void {
  usable(() => layOver(workspace, overlays, [...new Set(uris)], profiles))
}

/** The same with names as statements, for what judges files and not single predictions. */
export function layStatements(
  { workspace }: Service,
  { names, overlays, texts }: AsIf,
  files: readonly { readonly uri: string }[],
  profiles: readonly string[] = [],
): void {
  const named = Object.entries(names).map(([kind, name]) => {
    const number = texts.findLastIndex(text => text.trim().startsWith(kind) && text.includes('=')) + 1
    return readOverlay(`${kind} ${name}`, number)
  })
  const all = [...overlays, ...named].sort((a, b) => a.number - b.number)
  lay(
    workspace,
    { names: {}, overlays: all, texts },
    files.map(({ uri }) => uri),
    profiles,
  )
}

/** What stands at the top of a text whose figures are not those of the files. */
export function asIfLines({ texts }: AsIf): readonly string[] {
  return texts.map((text, index) => `Overlay --with ${index + 1}: ${inOneLine(text).trim()}`)
}
