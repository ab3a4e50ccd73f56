/** Builds bundles that share modules: what two would hold, the later one takes from the first. */

import { realpathSync } from 'node:fs'
import { basename, dirname, join, parse, resolve } from 'node:path'
import { type BuildOptions, build, type Metafile, type Plugin } from 'esbuild'

/**
 * Bundles that share modules: each but the first takes from another what both would hold. So what several hosts need is
 * packed once, and a bundle is what it adds to the one that it takes from.
 */
export interface Bundle {
  /** The file's name. */
  readonly name: string
  readonly entry: string
  /** What the entry exports; it is run when one of them is first called. None for an entry that is run at once. */
  readonly exports?: readonly string[]
  /** The name of the bundle that this one takes from, which stands before it. */
  readonly from?: string
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

/** A file's own place: where a folder is a link, one file has several paths. What is no file stays as it is. */
function realPath(folder: string, path: string): string {
  try {
    return realpathSync(resolve(folder, path))
  } catch {
    return path
  }
}

/** The library that a path of `node_modules` lies in, or an import names. */
const libraryOf = (path: string): string | undefined =>
  /^(?:.*node_modules\/)?(@[^/]+\/[^/]+|[^@./][^/]*)/.exec(path)?.[1]

/**
 * Whether an import may lead to one of the paths, by its last word or by its library alone. The bundler looks at the disk
 * afresh for every import that it is asked about: several milliseconds for each of thousands.
 */
function mayLeadTo(paths: readonly string[]): (path: string) => boolean {
  const words = new Set(paths.flatMap(path => [parse(path).name, basename(dirname(path))]))
  const libraries = new Set(paths.filter(path => path.includes('node_modules/')).map(libraryOf))
  return path =>
    /(?:^|\/)\.{0,2}$/.test(path) ||
    words.has(parse(path).name) ||
    words.has(basename(path)) ||
    (!path.startsWith('.') && libraries.has(libraryOf(path)))
}

/** Modules that a bundle asks of the one that it takes from, instead of holding them. */
function takenFrom(from: string, cuts: readonly string[], folder: string): Plugin {
  const paths = new Map(cuts.map(path => [realPath(folder, path), path]))
  const isWorthAsking = mayLeadTo(cuts)
  return {
    name: 'taken from the other bundle',
    setup: bundler => {
      bundler.onResolve({ filter: /^whole-bundle$/ }, () => ({ path: from, external: true }))
      bundler.onResolve({ filter: /./ }, async ({ path, pluginData, ...rest }) => {
        if (pluginData === asked || rest.kind === 'entry-point' || !isWorthAsking(path)) return undefined
        const found = await bundler.resolve(path, { ...rest, pluginData: asked })
        const shared = paths.get(realPath(folder, found.path))
        return shared === undefined ? undefined : { path: shared, namespace: 'whole' }
      })
      bundler.onLoad({ filter: /./, namespace: 'whole' }, ({ path }) => ({
        contents: `module.exports = require('whole-bundle').shared(${JSON.stringify(path)})`,
      }))
    },
  }
}

/** An entry that gives others its modules by their paths. Nothing of it runs before it is asked for. */
function givingEntry({ entry, exports = [] }: Bundle, cuts: readonly string[]): string {
  const own = exports.map(name => `export const ${name} = (...given) => require('./${entry}').${name}(...given)`)
  const rows = cuts.map(path => `${JSON.stringify(path)}: () => require(${JSON.stringify(`./${path}`)}),`)
  return [...own, 'const modules = {', ...rows, '}', 'export const shared = path => modules[path]()', ''].join('\n')
}

/** The modules that a bundle holds, and those that it asks its host for. */
function inputsOf({ outputs }: Metafile): readonly string[] {
  return Object.values(outputs).flatMap(({ inputs, imports }) => [
    ...Object.keys(inputs),
    ...imports.map(one => one.path),
  ])
}

/**
 * Errors: throws where a bundle holds a module that the one it takes from holds as well. Each would make objects of its own
 * kind then, and an error of the one be no error to the other.
 */
export function mustShare(bundles: readonly Pick<Bundle, 'name' | 'from'>[], inputs: BundleInputs): void {
  for (const { name, from } of bundles) {
    if (from === undefined) continue
    const held = new Set(inputs[from])
    const twice = (inputs[name] ?? []).filter(path => /^(?!whole:).*\.[jt]s$/.test(path) && held.has(path))
    if (twice.length === 0) continue
    const others = twice.length === 1 ? '' : ` and ${twice.length - 1} more`
    throw new Error(`${name} holds again what it should take from ${from}: ${twice[0]}${others}`)
  }
}

/**
 * Writes bundles into one folder.
 * @param common options of all; `absWorkingDir` ends with a slash
 * Errors: rejects with the bundler's messages, or where modules are not shared.
 */
export async function buildShared(
  bundles: readonly Bundle[],
  common: BuildOptions & { readonly absWorkingDir: string },
  into: string,
): Promise<BundleInputs> {
  const folder = common.absWorkingDir
  // What each imports is all that is asked of these.
  const looked = await Promise.all(
    bundles.map(async ({ name, entry, options }) => {
      const all: BuildOptions = { ...common, ...options, entryPoints: [entry], outdir: into, write: false }
      const { metafile } = await build({ ...all, minify: false, sourcemap: false, metafile: true })
      return [name, metafile] as const
    }),
  )
  const whole = new Map<string, Metafile>(looked)
  /** What each bundle takes from the one before it, and what it gives to those behind it; the last ones first. */
  const taken = new Map<string, readonly string[]>()
  const given = new Map<string, Set<string>>()
  for (const { name, from } of bundles.toReversed()) {
    const [own, other] = [whole.get(name), from === undefined ? undefined : whole.get(from)]
    if (own === undefined || from === undefined || other === undefined) continue
    // What it gives on is taken as well, where the other has it: a module must not be there twice.
    const passedOn = [...(given.get(name) ?? [])].filter(path => path in other.inputs)
    const cuts = [...new Set([...cutsBetween(other, own), ...passedOn])].sort()
    taken.set(name, cuts)
    given.set(from, new Set([...(given.get(from) ?? []), ...cuts]))
  }
  const inputs: Record<string, readonly string[]> = {}
  for (const bundle of bundles) {
    const { name, entry, from, options } = bundle
    const cuts = given.get(name)
    const contents = cuts && givingEntry(bundle, [...cuts].sort())
    const written = await build({
      ...common,
      ...options,
      ...(contents === undefined
        ? { entryPoints: [entry] }
        : { stdin: { contents, resolveDir: folder, sourcefile: `${name} entry.js` } }),
      ...(from === undefined ? {} : { plugins: [takenFrom(`./${from}`, taken.get(name) ?? [], folder)] }),
      outfile: join(into, name),
      metafile: true,
    })
    inputs[name] = inputsOf(written.metafile)
  }
  mustShare(bundles, inputs)
  return inputs
}
