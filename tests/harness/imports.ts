/** Which part of the project a file belongs to, what it imports, and what the parts may import. */
import { posix } from 'node:path'
import type { Source } from './sources.ts'

/** What a part may import: other parts, other parts for their types alone, and packages. */
interface Rule {
  readonly parts: readonly string[]
  readonly types?: readonly string[]
  readonly packages?: readonly RegExp[]
}

export interface Import {
  /** As written. */
  readonly specifier: string
  readonly kind: 'value' | 'type'
}

const language = ['grammar/units', 'grammar/vocabulary', 'grammar']
const figures = [...language, 'server/model', 'server/wording', 'server/semantic', 'server/bench', 'server/workspace']
const service = [...figures, 'server/checks', 'server/features']
const node = /^node:/

/** The layers, lowest first: each part may import those in its row and nothing else. */
const rules: Readonly<Record<string, Rule>> = {
  'grammar/units': { parts: [] },
  'grammar/vocabulary': { parts: ['grammar/units'] },
  grammar: { parts: ['grammar/units', 'grammar/vocabulary'], packages: [/^chevrotain$/, /^damerau-levenshtein$/] },
  'server/model': { parts: [], packages: [/^@stdlib\/stats-base-dists-normal-/] },
  'server/wording': { parts: [...language, 'server/model'] },
  'server/semantic': { parts: [...language, 'server/model', 'server/wording'] },
  'server/bench': {
    parts: [...language, 'server/model', 'server/wording', 'server/semantic'],
    packages: [/^papaparse$/, /^ml-matrix$/, /^@stdlib\/stats-base-dists-/],
  },
  'server/workspace': {
    parts: [...language, 'server/semantic'],
    types: ['server/model', 'server/bench'],
    packages: [node],
  },
  'server/checks': { parts: figures },
  'server/features': { parts: [...figures, 'server/checks'] },
  'server/service.ts': { parts: service },
  'server/lsp': {
    parts: ['server/service.ts', 'server/workspace'],
    types: service,
    packages: [/^vscode-languageserver/, node],
  },
  'server/cli': {
    parts: ['server/service.ts', 'server/workspace', 'server/lsp'],
    types: service,
    packages: [/^(?:commander|cli-table3|sarif|string-width|xmlbuilder)$/, node],
  },
  client: { parts: [], packages: [/^vscode$/, /^vscode-languageclient/, node] },
  'client/scripts': {
    parts: ['client', ...service],
    packages: [/^esbuild$/, /^fflate$/, /^@vscode\/vsce$/, /^playwright-core$/, node],
  },
}

const partsLongestFirst = Object.keys(rules).sort((a, b) => b.length - a.length)

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

function mayImport(path: string, { specifier, kind }: Import): boolean {
  const part = partOf(path)
  const relative = specifier.startsWith('.')
  if (part === undefined) return relative || mayTestImport(path, specifier)
  const rule = rules[part]
  if (rule === undefined) return false
  if (!relative) return (rule.packages ?? []).some(pattern => pattern.test(specifier))
  const target = partOf(targetOf(path, specifier))
  if (target === undefined) return false
  return target === part || rule.parts.includes(target) || (kind === 'type' && (rule.types ?? []).includes(target))
}

/** The editor's own library exists only inside an editor; any test may speak the protocol. */
function mayTestImport(path: string, specifier: string): boolean {
  return specifier !== 'vscode' || path.startsWith('tests/editor/')
}

/** Circles among the parts, each as the parts on the way round; types count, since they bind as well. */
export function circles(sources: readonly Source[]): readonly string[] {
  const edges = new Map<string, Set<string>>()
  for (const { path, text } of sources) {
    const from = partOf(path)
    if (from === undefined) continue
    for (const { specifier } of importsOf(text)) {
      const to = specifier.startsWith('.') ? partOf(targetOf(path, specifier)) : undefined
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
