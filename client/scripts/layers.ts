/** The layers of the project, lowest first: what is in each and what it may import. A test holds every file to it. */

/** A part of the project: other parts that it may import, parts whose types alone it may name, and packages. */
export interface Layer {
  readonly part: string
  /** What is in it, for the contributor's page. */
  readonly holds: string
  readonly parts: readonly string[]
  readonly types?: readonly string[]
  /** Names of packages; one that ends with `*` stands for all that begin so. */
  readonly packages?: readonly string[]
}

const language = ['grammar/units', 'grammar/vocabulary', 'grammar']
const figures = [...language, 'server/model', 'server/wording', 'server/semantic', 'server/bench', 'server/workspace']
const service = [...figures, 'server/planning', 'server/charts', 'server/checks', 'server/features']

export const layers: readonly Layer[] = [
  { part: 'grammar/units', holds: 'units, dimensions, conversions', parts: [] },
  { part: 'grammar/vocabulary', holds: 'the one table of words', parts: ['grammar/units'] },
  {
    part: 'grammar',
    holds:
      'tokens, lost braces, parser, tree, matching, formatter; examples, and what is generated from the table of words',
    parts: ['grammar/units', 'grammar/vocabulary'],
    packages: ['chevrotain', 'damerau-levenshtein'],
  },
  {
    part: 'server/model',
    holds: 'the numeric model: plain numbers in, plain numbers out',
    parts: [],
    packages: ['@stdlib/stats-base-dists-normal-*'],
  },
  {
    part: 'server/wording',
    holds: 'figures, counts, times, places, limiters and what is missing, in the words of every message and page',
    parts: [...language, 'server/model'],
  },
  {
    part: 'server/semantic',
    holds: 'names, inheritance, tree to model input, predictions, expectations',
    parts: [...language, 'server/model', 'server/wording'],
  },
  {
    part: 'server/bench',
    holds:
      'seven rooms: `log` (reading), `likelihood` (points and whole logs beside the model’s equations), `steady` (what a log settles at), `run` (records, measured beside predicted), `fit`, `statistics`, `evidence` (trials, what they say of voltages, what to try next)',
    parts: [...language, 'server/model', 'server/wording', 'server/semantic'],
    packages: ['papaparse', '@stdlib/stats-base-dists-*'],
  },
  {
    part: 'server/workspace',
    holds: 'documents, what uses what, the file system behind an interface',
    parts: [...language, 'server/semantic'],
    types: ['server/model', 'server/bench'],
    packages: ['node:*'],
  },
  {
    part: 'server/planning',
    holds: 'the search for steps and bands over an interface that predicts and judges; plain data in and out',
    parts: [],
  },
  {
    part: 'server/charts',
    holds:
      'map, cooling, course, ledger, clocks, gains: plain data in, SVG and figures out; one drawing for panel, hover, report and command',
    parts: [],
    packages: ['d3-scale', 'd3-shape'],
  },
  { part: 'server/checks', holds: 'one file for each check, and the registry', parts: figures },
  {
    part: 'server/features',
    holds:
      'one file or folder for each thing an editor asks, the report among them; `facts`, what is said about a definition, a row or a load wherever it is shown; plain data out',
    parts: [...figures, 'server/planning', 'server/charts', 'server/checks'],
  },
  { part: 'server/service.ts', holds: 'the façade: the one door for the next two', parts: service },
  {
    part: 'server/lsp',
    holds: 'the language server; alone knows the protocol',
    parts: ['server/service.ts', 'server/workspace'],
    types: service,
    packages: ['vscode-languageserver*', 'node:*'],
  },
  {
    part: 'server/cli',
    holds: 'one file for each sub-command',
    parts: ['server/service.ts', 'server/workspace', 'server/lsp'],
    types: service,
    packages: ['commander', 'cli-table3', 'sarif', 'string-width', 'xmlbuilder', 'node:*'],
  },
  {
    part: 'client',
    holds: 'the extension: starts and stops the server, commands, views; never anything of `server`',
    parts: [],
    packages: ['vscode', 'vscode-languageclient*', 'node:*'],
  },
  {
    part: 'client/scripts',
    holds: 'what builds, packs, generates and lays out',
    parts: ['client', ...service],
    packages: ['esbuild', 'fflate', '@gfx/zopfli', '@vscode/vsce', 'playwright-core', 'node:*'],
  },
]

/** `grammar, model`, `all above`, `nothing`. */
function partsText(parts: readonly string[], above: readonly string[]): string {
  if (parts.length === 0) return 'nothing'
  if (parts.length > 2 && above.every(part => parts.includes(part)) && parts.length === above.length) return 'all above'
  const whole = language.every(part => parts.includes(part))
  const named = whole ? parts.filter(part => part === 'grammar' || !language.includes(part)) : parts
  return named.map(part => part.replace(/^server\//, '').replace(/\.ts$/, '')).join(', ')
}

/** The rows of the contributor's page. */
export function layerTable(): string {
  const rows = layers.map(({ part, holds, parts, types = [], packages = [] }, index) => {
    const above = layers.slice(0, index).map(one => one.part)
    const others = types.filter(one => !parts.includes(one))
    return [
      `\`${part}\``,
      holds,
      [
        partsText(parts, above),
        ...(others.length === 0 ? [] : [`types of ${partsText(others, [])}`]),
        ...(packages.length === 0 ? [] : [packages.map(name => `\`${name}\``).join(', ')]),
      ].join('; '),
    ]
  })
  const all = [
    ['Folder', 'What is in it', 'May import'],
    ['---', '---', '---'],
    ...rows,
    [
      '`tests`',
      'mirrors the above; `tests/harness` has fixtures, `tests/oracle` a second, independent model',
      'everything',
    ],
  ]
  return all.map(cells => (cells[0] === '---' ? '|---|---|---|' : `| ${cells.join(' | ')} |`)).join('\n')
}
