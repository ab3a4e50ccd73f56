import { join } from 'node:path'
import { type BuildOptions, build, type Metafile, type Plugin } from 'esbuild'

/**
 * Two bundles that share modules: the first is whole, the second takes from it what both would hold. So what runs with Node
 * and without it is packed once, and the second bundle is what Node adds.
 */
export interface BundlePair {
  readonly whole: Bundle
  readonly addition: Bundle
}

export interface Bundle {
  /** The file's name. */
  readonly name: string
  readonly entry: string
  readonly options: BuildOptions
}

/** What bundles were made of, by their files' names. */
export type BundleInputs = Readonly<Record<string, readonly string[]>>

/** The modules of both that a module of the addition alone imports: the places at which it is cut. */
function cutsBetween(whole: Metafile, addition: Metafile): readonly string[] {
  const both = new Set(Object.keys(whole.inputs).filter(path => path in addition.inputs))
  const cuts = new Set<string>()
  for (const [path, { imports }] of Object.entries(addition.inputs)) {
    if (!both.has(path)) for (const one of imports) if (both.has(one.path)) cuts.add(one.path)
  }
  return [...cuts].sort()
}

const asked = Symbol('already asked')

/** Modules in place of which the addition asks the whole bundle. */
function takenFrom(from: string, cuts: readonly string[], folder: string): Plugin {
  const paths = new Map(cuts.map(path => [folder + path, path]))
  return {
    name: 'taken from the whole bundle',
    setup: bundler => {
      bundler.onResolve({ filter: /^whole-bundle$/ }, () => ({ path: from, external: true }))
      bundler.onResolve({ filter: /./ }, async ({ path, pluginData, ...rest }) => {
        if (pluginData === asked || rest.kind === 'entry-point') return undefined
        const found = await bundler.resolve(path, { ...rest, pluginData: asked })
        const shared = paths.get(found.path)
        return shared === undefined ? undefined : { path: shared, namespace: 'whole' }
      })
      bundler.onLoad({ filter: /./, namespace: 'whole' }, ({ path }) => ({
        contents: `module.exports = require('whole-bundle').shared(${JSON.stringify(path)})`,
      }))
    },
  }
}

/** The first bundle's entry, with the shared modules by their paths, each run when it is first asked for. */
function wholeEntry(entry: string, cuts: readonly string[]): string {
  const rows = cuts.map(path => `${JSON.stringify(path)}: () => require(${JSON.stringify(`./${path}`)}),`)
  return `export * from './${entry}'\nconst modules = {\n${rows.join('\n')}\n}\nexport const shared = path => modules[path]()\n`
}

/** The modules that a bundle holds, and those that it asks its host for. */
function inputsOf({ outputs }: Metafile): readonly string[] {
  return Object.values(outputs).flatMap(({ inputs, imports }) => [
    ...Object.keys(inputs),
    ...imports.map(one => one.path),
  ])
}

/**
 * Writes both bundles into one folder.
 * @param common options of both; `absWorkingDir` ends with a slash
 */
export async function buildPair(
  { whole, addition }: BundlePair,
  common: BuildOptions & { readonly absWorkingDir: string },
  into: string,
): Promise<BundleInputs> {
  const folder = common.absWorkingDir
  const look = async ({ entry, options }: Bundle): Promise<Metafile> => {
    const all: BuildOptions = { ...common, ...options, entryPoints: [entry], outdir: into, write: false }
    return (await build({ ...all, metafile: true })).metafile
  }
  const cuts = cutsBetween(...(await Promise.all([look(whole), look(addition)])))
  const stdin = { contents: wholeEntry(whole.entry, cuts), resolveDir: folder, sourcefile: 'entry.js' }
  const plugins = [takenFrom(`./${whole.name}`, cuts, folder)]
  const write = async ({ name, options }: Bundle, own: BuildOptions): Promise<readonly string[]> => {
    const all: BuildOptions = { ...common, ...options, ...own, outfile: join(into, name) }
    const written = await build({ ...all, metafile: true })
    return inputsOf(written.metafile)
  }
  return {
    [whole.name]: await write(whole, { stdin }),
    [addition.name]: await write(addition, { entryPoints: [addition.entry], plugins }),
  }
}
