/**
 * The notices that the package owes: every library whose code is in a bundle, with version, licence and the licence's text.
 */
import { existsSync, readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'

/** Licences that allow a package to be handed on within ours, as long as their text goes with it. */
export const allowedLicences: ReadonlySet<string> = new Set([
  ...['0BSD', 'Apache-2.0', 'BlueOak-1.0.0', 'BSL-1.0', 'BSD-2-Clause', 'BSD-3-Clause', 'ISC', 'MIT'],
])

/** A library with what it asks for. */
export interface Notice {
  readonly name: string
  readonly version: string
  /** As its manifest names it. */
  readonly licence: string
  /** The texts of its licence and notice files. */
  readonly texts: readonly string[]
}

/** The folder of the package that a file belongs to, from the top; undefined where it is a file of our own. */
function packageFolder(path: string): string | undefined {
  return /^.*node_modules\/(?:@[^/]+\/)?[^/]+/.exec(path)?.[0]
}

function noticeOf(at: string): Notice {
  const { name, version, license } = JSON.parse(readFileSync(join(at, 'package.json'), 'utf8')) as {
    readonly name: string
    readonly version: string
    readonly license?: string
  }
  const files = readdirSync(at).filter(file => /^(?:licen[cs]e|copying|notice)(?:[-.][-.\w]+)?$/i.test(file))
  const texts = files.sort().map(file => readFileSync(join(at, file), 'utf8').replaceAll('\r\n', '\n').trim())
  return { name, version, licence: license ?? 'unknown', texts }
}

/**
 * The libraries among the files of bundles, by name.
 * @param paths files as the bundler names them, relative to the top
 * @param top the project's folder
 */
export function noticesOf(paths: Iterable<string>, top: string): readonly Notice[] {
  const folders = new Set<string>()
  for (const path of paths) {
    const folder = packageFolder(path)
    if (folder !== undefined && existsSync(join(top, folder, 'package.json'))) folders.add(join(top, folder))
  }
  return [...folders].map(noticeOf).sort((a, b) => (a.name < b.name ? -1 : a.name > b.name ? 1 : 0))
}

/** What is wrong with some notices: a licence that is not known to be allowed, or a text that is not there. */
export function objections(notices: readonly Notice[]): readonly string[] {
  return notices.flatMap(({ name, version, licence, texts }) => [
    ...(licence.split(' AND ').every(one => allowedLicences.has(one))
      ? []
      : [`${name} ${version}: the licence ${licence} is not on the list of those allowed`]),
    ...(texts.length > 0 ? [] : [`${name} ${version}: the text of its licence is missing`]),
  ])
}

/** The file that is handed on: each text once, below the libraries that it is of. */
export function noticesText(notices: readonly Notice[]): string {
  const byText = new Map<string, Notice[]>()
  for (const notice of notices) {
    for (const text of notice.texts) {
      const same = byText.get(text)
      if (same === undefined) byText.set(text, [notice])
      else same.push(notice)
    }
  }
  const parts = [...byText].map(([text, of]) => {
    const heads = of.map(({ name, version, licence }) => `${name} ${version} (${licence})`)
    return `${'='.repeat(80)}\n${heads.join('\n')}\n${'='.repeat(80)}\n\n${text}\n`
  })
  return `Third-party notices\n\nThis package contains code of the libraries below, each under its own licence.\n\n${parts.join('\n')}`
}
