/** Which part of the project a file belongs to, what it imports, and what the parts may import. */
import { posix } from 'node:path'
import { type Layer, layers } from '../../client/scripts/layers.ts'
import type { Source } from './sources.ts'

export interface Import {
  /** As written. */
  readonly specifier: string
  readonly kind: 'value' | 'type'
}

const rules: ReadonlyMap<string, Layer> = new Map(layers.map(layer => [layer.part, layer]))

const partsLongestFirst = [...rules.keys()].sort((a, b) => b.length - a.length)

/** The part a path belongs to; undefined for tests, which may import everything. */
function partOf(path: string): string | undefined {
  if (path.startsWith('tests/')) return undefined
  return partsLongestFirst.find(part => path === part || path.startsWith(`${part}/`)) ?? path
}

/** The imports and re-exports of a TypeScript text. */
export function importsOf(text: string): readonly Import[] {
  const code = text.replace(/\/\*[\s\S]*?\*\//g, '').replace(/^\s*\/\/.*$/gm, '')
  const declared = code.matchAll(/^\s*(?:import|export)\s+(type\s+)?(?:[^'";]*?\sfrom\s+)?'([^']+)'/gm)
  const called = code.matchAll(/\bimport\(\s*'([^']+)'\s*\)/g)
  return [
    ...[...declared].map(([, type, specifier = '']) => ({
      specifier,
      kind: type ? ('type' as const) : ('value' as const),
    })),
    ...[...called].map(([, specifier = '']) => ({ specifier, kind: 'value' as const })),
  ]
}

function targetOf(path: string, specifier: string): string {
  return posix.normalize(posix.join(posix.dirname(path), specifier))
}

/** One line for each import that the layers forbid. */
export function forbiddenImports(sources: readonly Source[]): readonly string[] {
  return sources.flatMap(({ path, text }) =>
    importsOf(text)
      .filter(item => !mayImport(path, item))
      .map(item => `${path} imports ${item.specifier}${item.kind === 'type' ? ' (types)' : ''}`),
  )
}

/** Whether an import is of a package, or of one that begins as a name with `*` says. */
function isOf(specifier: string, name: string): boolean {
  return name.endsWith('*') ? specifier.startsWith(name.slice(0, -1)) : specifier === name
}

function mayImport(path: string, { specifier, kind }: Import): boolean {
  const part = partOf(path)
  const relative = specifier.startsWith('.')
  if (part === undefined) return relative || mayTestImport(path, specifier)
  const rule = rules.get(part)
  if (rule === undefined) return false
  if (!relative) return (rule.packages ?? []).some(name => isOf(specifier, name))
  const target = partOf(targetOf(path, specifier))
  if (target === undefined) return false
  return target === part || rule.parts.includes(target) || (kind === 'type' && (rule.types ?? []).includes(target))
}

/** The editor's own library exists only inside an editor; any test may speak the protocol. */
function mayTestImport(path: string, specifier: string): boolean {
  return specifier !== 'vscode' || path.startsWith('tests/editor/')
}

/** The room of a file within its part: a folder right below the part, or the file itself where it stands in none. */
export function roomOf(path: string): string | undefined {
  const part = partOf(path)
  if (part === undefined) return undefined
  const [first = ''] = path.slice(part.length + 1).split('/')
  return first === '' ? part : `${part}/${first}`
}

/** Circles among places, each as the places on the way round; types count, since they bind as well. */
export function circles(sources: readonly Source[], placeOf = partOf): readonly string[] {
  const edges = new Map<string, Set<string>>()
  for (const { path, text } of sources) {
    const from = placeOf(path)
    if (from === undefined) continue
    for (const { specifier } of importsOf(text)) {
      const to = specifier.startsWith('.') ? placeOf(targetOf(path, specifier)) : undefined
      if (to !== undefined && to !== from) edges.set(from, (edges.get(from) ?? new Set()).add(to))
    }
  }
  const found: string[] = []
  const done = new Set<string>()
  const visit = (part: string, way: readonly string[]): void => {
    const start = way.indexOf(part)
    if (start >= 0) found.push([...way.slice(start), part].join(' → '))
    if (start >= 0 || done.has(part)) return
    for (const next of edges.get(part) ?? []) visit(next, [...way, part])
    done.add(part)
  }
  for (const part of edges.keys()) visit(part, [])
  return found
}
