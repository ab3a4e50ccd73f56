/**
 * Whole definitions to fill in, at the top of a file: with the names and figures that are known already. In a template
 * `<text>` is a place to fill in, `<one|other>` a choice.
 */

import type { DefinitionKind } from '../../../grammar/vocabulary/index.ts'
import { partOfGroup } from '../../model/index.ts'
import type { Part } from '../../model/types.ts'
import { partConstants } from '../../semantic/constants.ts'
import { plain } from '../../wording/figures.ts'
import type { Document } from '../../workspace/workspace.ts'
import { addUse, usePath } from '../uses.ts'
import type { Completion, Context } from './types.ts'

interface Template {
  readonly kind: DefinitionKind
  readonly label: string
  readonly text: (known: Known) => string
}

/** What a template may name. */
interface Known {
  /** The names of a kind as a place to fill in; a name of our own where there is none. */
  readonly names: (kind: DefinitionKind, otherwise: string) => string
  readonly has: (kind: DefinitionKind) => boolean
  /** The constants of the part that is named first, where they read. */
  readonly part: () => Part | undefined
}

const part = `part <my-part> {
  cores <8>
  reference <100> MHz
  ratio <8>x to <58>x
  core-voltage <0.65> V to <1.45> V
  die-limit <95> °C
  known {
    <4.80> GHz  <1.160> V  <150> W  <75> °C   air <22> °C
  }
}`

const partOfTwo = `part <my-mixed-part> {
  group <broad> {
    cores <4>
    ratio <8>x to <54>x
    needs { <44>x <1.08> V; <50>x <1.24> V }
    switching <2.0> nF
  }
  group <small> {
    cores <8>
    ratio <8>x to <42>x
    needs { <32>x <1.00> V; <38>x <1.16> V }
    switching <0.8> nF
  }
  reference <100> MHz
  core-voltage <0.65> V to <1.40> V
  die-limit <95> °C
}`

/** All that counts for it may be left out. */
const loop = 'cooler <my-loop> kind <loop|air> { }'

const chilled = `cooler <my-chiller> kind chilled {
  coolant <8> °C
  capacity <350> W
  beyond <0.08> K/W
}`

const thermoelectric = `cooler <my-plate> kind thermoelectric {
  modules <2>
  module { at <27> °C; current <14.8> A; voltage <15.6> V; heat <141> W; difference <68> K }
  drive-current <7> A
}`

const room = `room <my-room> {
  air <18> °C to <24> °C
  humidity <40> % to <55> %
}`

function stepRows(known: Part | undefined): readonly string[] {
  const cores = known?.cores ?? 8
  const measured = known?.needs.map(({ ratio }) => ratio) ?? [48, 52]
  const row = (cells: string, width: number, ratio: number | undefined): string =>
    `    ${cells}${' '.repeat(Math.max(1, 15 - width))}<${plain(ratio ?? 48)}>x`
  // A careful beginning: all cores at the lowest ratio that was measured.
  const all = measured[0]
  if (cores < 3) return [row(`1 to <${cores}> cores`, 12, all)]
  const few = measured[Math.floor(measured.length / 2)]
  return [row('1 to <2> cores', 12, few), row(`<3> to <${cores}> cores`, `3 to ${cores} cores`.length, all)]
}

/** The table of steps, or one for each group of cores. */
function stepTables(part: Part | undefined): readonly string[] {
  const table = (head: string, rows: readonly string[]): string[] => [`  ${head} {`, ...rows, '  }']
  if (part?.groups === undefined) return table('steps', stepRows(part))
  return part.groups.flatMap(({ name }, index) => table(`steps ${name}`, stepRows(partOfGroup(part, index))))
}

function profile({ names, has, part }: Known): string {
  const constants = part()
  return [
    'profile <daily> {',
    `  part ${names('part', 'my-part')}`,
    `  cooler ${names('cooler', 'my-loop')}`,
    `  room ${names('room', 'my-room')}`,
    ...(has('board') ? [`  board ${names('board', '')}`] : []),
    ...stepTables(constants),
    '  voltage { core needs + <20> mV }',
    '  limits {',
    `    die <${plain((constants?.dieLimitC ?? 95) - 5)}> °C`,
    '  }',
    '}',
  ].join('\n')
}

const run = ({
  names,
}: Known): string => `run <first-run> of ${names('profile', 'daily')} under ${names('load', 'idle')} {
  air <22> °C ± <0.5> K
  humidity <45> %
  measured { clock <4.50> GHz; power <150> W; die <67> °C }
}`

const templates: readonly Template[] = [
  { kind: 'part', label: 'part with all it needs', text: () => part },
  { kind: 'part', label: 'part with cores of two kinds', text: () => partOfTwo },
  { kind: 'cooler', label: 'cooler of air or liquid', text: () => loop },
  { kind: 'cooler', label: 'cooler with a chiller', text: () => chilled },
  { kind: 'cooler', label: 'cooler with thermoelectric modules', text: () => thermoelectric },
  { kind: 'room', label: 'room with air and humidity', text: () => room },
  { kind: 'profile', label: 'profile with all it needs', text: profile },
  { kind: 'run', label: 'run with figures read by hand', text: run },
]

const hole = /<([^<>]+)>/g

/** The text as it stands without snippets, and with its places to fill in. */
function filled(text: string): Pick<Completion, 'text' | 'snippet'> {
  let count = 0
  return {
    text: text.replace(hole, (_, inside: string) => inside.split('|')[0] ?? ''),
    snippet: text.replace(hole, (_, inside: string) => {
      const words = inside.split('|')
      return words.length > 1 ? `\${${++count}|${words.join(',')}|}` : `\${${++count}:${inside}}`
    }),
  }
}

/** The file that has most of what the file of the cursor does not see, to be used from it. */
function sourceFor({ workspace, view }: Context): { readonly document: Document; readonly path: string } | undefined {
  if (view.scope.all('part').length > 0) return undefined
  const own = view.document
  return [...workspace.documents()]
    .filter(document => !view.documents.includes(document))
    .map(document => ({ document, path: usePath(own.uri, document.uri) }))
    .filter((one): one is { document: Document; path: string } => one.path !== undefined)
    .filter(({ document }) => document.definitions.some(({ kind }) => kind === 'part'))
    .sort((a, b) => b.document.definitions.length - a.document.definitions.length)[0]
}

/** The templates that may stand where a definition begins. */
export function wholeDefinitions(context: Context): readonly Completion[] {
  const { view, at, start, end } = context
  if (at.place !== 'file') return []
  return templates.map(({ kind, label, text }): Completion => {
    const source = kind === 'profile' ? sourceFor(context) : undefined
    let isUsed = false
    const all = (wanted: DefinitionKind): readonly string[] => {
      const seen = view.scope.all(wanted)
      if (seen.length > 0 || source === undefined) return seen.map(({ name }) => name)
      const there = source.document.definitions.filter(one => one.kind === wanted).map(({ name }) => name)
      if (there.length > 0) isUsed = true
      return there
    }
    const known: Known = {
      names: (wanted, otherwise) => `<${all(wanted).join('|') || otherwise}>`,
      has: wanted => all(wanted).length > 0,
      part: () => {
        const [first] = all('part')
        const found = first === undefined ? undefined : view.scope.find('part', first)
        const elsewhere = source?.document.definitions.find(one => one.kind === 'part' && one.name === first)
        const definition = found ?? elsewhere
        return definition && partConstants(definition).value
      },
    }
    const made = filled(text(known))
    return {
      label,
      kind: 'row',
      detail:
        isUsed && source !== undefined ? `a whole ${kind}, adds use "${source.path}"` : `a whole ${kind} to fill in`,
      start,
      end,
      ...made,
      rank: 3,
      topic: { about: 'word', place: 'file', word: kind },
      ...(isUsed && source !== undefined ? { more: [addUse(view.document, source.path)] } : {}),
    }
  })
}
