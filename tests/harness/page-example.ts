/** Makes a whole file of an example on a check's page: what the page leaves out comes from one bench for all pages. */
import { parseFile } from '../../grammar/file.ts'
import { definitionWords, findWord, type Place, vocabulary } from '../../grammar/vocabulary/index.ts'
import { type PartLines, partText } from './make-text.ts'

const pageLines: PartLines = {
  cores: '8',
  ratio: '8x to 60x',
  'core-voltage': '0.65 V to 1.45 V',
  'die-limit': '100 °C',
  needs: '{ 40x 1.010 V; 53x 1.290 V }',
  switching: '1.9 nF',
  leakage: '14 W at 1.20 V 60 °C',
  'leakage-doubling': '30 K',
  'shared-power': '10 W',
  'idle-power': '8 W',
  'core-resistance': '0.50 K/W',
}

const leakyLines: PartLines = {
  ...pageLines,
  switching: '0.5 nF',
  leakage: '10 W at 1.20 V 60 °C',
  'leakage-doubling': '12 K',
  'shared-power': '4 W',
  'idle-power': '4 W',
}

/** Invented; a definition is taken where the example, or what it takes, names it or has none of its kind. */
const bench = `
${partText('sample-c2', pageLines)}${partText('leaky', leakyLines)}cooler big-loop kind loop {
  block-resistance 0.05 K/W
  radiator { 20 % 0.090 K/W; 100 % 0.045 K/W }
}
cooler small-loop kind loop {
  block-resistance 0.10 K/W
  radiator { 100 % 0.80 K/W }
}
cooler te-plate kind thermoelectric {
  modules 3
  module { at 27 °C; current 15 A; voltage 15.4 V; heat 142 W; difference 68 K }
  drive-current 7 A
  block-resistance 0.03 K/W
  radiator { 20 % 0.090 K/W; 100 % 0.040 K/W }
}
cooler cold-water kind chilled {
  coolant 8 °C
  capacity 350 W
  beyond 0.08 K/W
  block-resistance 0.05 K/W
}
room garage { air 18 °C to 24 °C; humidity 40 % to 55 % }
room attic { air 38 °C; humidity 30 % }
room cellar { air 8 °C; humidity 60 % }
board bench-board { core-voltage-step 5 mV; supply 850 W }
load pair { cores 2 }
load render { cores 1 to 8 }
profile daily {
  part sample-c2
  cooler big-loop
  room garage
  board bench-board
  steps { 1 to 8 cores 49x }
  voltage { core needs + 60 mV }
}
`

/** One definition: its first line, and what stands in its block, statement by statement. */
interface Piece {
  readonly kind: string
  readonly name: string
  readonly head: string
  readonly inside: readonly { readonly word: string; readonly text: string }[]
}

/** The statements of a text as they stand, the broken ones among them. */
function piecesOf(text: string): readonly Piece[] {
  const { chunks } = parseFile(text)
  return chunks.flatMap(({ chunk }) =>
    chunk.statements.map((statement): Piece => {
      const wordAt = (index: number): string => {
        const item = statement.items[index]
        return item === undefined ? '' : chunk.text.slice(item.start, item.end)
      }
      const end = statement.items.at(-1)?.end ?? statement.end
      const inside = (statement.block?.statements ?? []).map(one => ({
        word: chunk.text.slice(one.items[0]?.start ?? one.start, one.items[0]?.end ?? one.start),
        text: chunk.text.slice(one.start, one.end),
      }))
      const head =
        statement.block === undefined
          ? chunk.text.slice(statement.start, statement.end)
          : chunk.text.slice(statement.start, end)
      return { kind: wordAt(0), name: wordAt(1), head, inside: statement.block === undefined ? [] : inside }
    }),
  )
}

const isDefinition = ({ kind }: Piece): boolean => (definitionWords as readonly string[]).includes(kind)

/** Kinds where an example states what it is about, the rest of them being the bench's; a load stands as it is written. */
const completed = new Set(['part', 'cooler', 'room', 'board', 'profile'])

function textOf({ head, inside }: Piece): string {
  return inside.length === 0 ? head : `${head} {\n${inside.map(({ text }) => `  ${text}\n`).join('')}}`
}

/** A block that stands alone belongs to the profile, the part or the cooler that has such a block. */
function owned(piece: Piece, all: readonly Piece[]): Piece {
  const place = piece.kind as Place
  const owner = vocabulary.find(word => word.word === piece.kind && word.block !== undefined)?.in[0]
  if (isDefinition(piece) || owner === undefined || owner === 'file' || findWord('file', place) !== undefined)
    return piece
  const driven = findWord('cooler', piece.kind)?.kinds?.length === 1
  const base = all.find(one => one.kind === owner && (!driven || one.head.endsWith('thermoelectric'))) as Piece
  return { ...base, inside: [{ word: piece.kind, text: textOf(piece) }] }
}

/** What the example leaves out of a definition, from the bench's own of that kind. */
function filled(piece: Piece, base: readonly Piece[], example: readonly Piece[]): Piece {
  if (!completed.has(piece.kind)) return piece
  const kind = / kind \S+/.exec(piece.head)?.[0] ?? ''
  const same = base.filter(one => one.kind === piece.kind && one.head.includes(kind))
  const from = same.find(one => one.name === piece.name) ?? same[0]
  const stated = new Set(piece.inside.map(({ word }) => word))
  const rest = (from?.inside ?? []).flatMap(({ word, text }) => {
    if (stated.has(word) || piece.head.includes('based-on')) return []
    const own = piece.kind === 'profile' ? example.find(one => one.kind === word) : undefined
    return [{ word, text: own === undefined ? text : `${word} ${own.name}` }]
  })
  return { ...piece, inside: [...piece.inside, ...rest] }
}

/** Pieces that stand in one definition, since they came as blocks of their own, become that one. */
function joined(pieces: readonly Piece[], written: readonly Piece[]): readonly Piece[] {
  const all: Piece[] = []
  pieces.forEach((piece, index) => {
    const isBlock = piece !== written[index]
    const before = isBlock ? all.findIndex(other => other.head === piece.head) : -1
    if (before < 0) all.push(piece)
    else all[before] = { ...piece, inside: [...(all[before]?.inside ?? []), ...piece.inside] }
  })
  return all
}

function completeFile(text: string): string {
  const base = piecesOf(bench)
  const written = piecesOf(text)
  const example = joined(
    written.map(piece => owned(piece, base)),
    written,
  )
  if (example.some(({ kind }) => kind === 'detent')) return text
  // An example of two lines that use files is about those lines alone.
  const wantsBench = example.some(({ kind }) => completed.has(kind) || kind === 'run' || kind === 'board')
  const hasProfile = example.some(({ kind }) => kind === 'profile')
  const own = hasProfile ? [] : base.filter(({ kind }) => kind === 'profile').map(one => ({ ...one, inside: [] }))
  const all = [...example, ...(wantsBench ? own : [])].map(piece => filled(piece, base, example))
  const taken = new Set(all.map(({ kind, name }) => `${kind} ${name}`))
  const words = new Set(
    all
      .flatMap(({ head, inside }) => [head, ...inside.map(one => one.text)])
      .join(' ')
      .match(/[a-z0-9-]+/g),
  )
  const hasLoad = example.some(({ kind }) => kind === 'load')
  const named = base.filter(({ kind, name }) => {
    const isAsked = words.has(name) || (name === 'render' && !hasLoad)
    return wantsBench && isAsked && !taken.has(`${kind} ${name}`)
  })
  return ['detent 1', ...named, ...all].map(one => (typeof one === 'string' ? one : textOf(one))).join('\n')
}

/** The example of a page as a fixture: one file, or several where it names them in lines like `# bench.detent`. */
export function pageFixture(example: string): string {
  const files = example.split(/^# (\S+\.detent)$/m)
  if (files.length === 1) return `--- a.detent\n${completeFile(example)}\n`
  const names = files.filter((_, index) => index % 2 === 1)
  return names.map((name, index) => `--- ${name}\n${completeFile(files[2 * index + 2] ?? '')}\n`).join('')
}
