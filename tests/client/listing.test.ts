import { cpSync, mkdirSync, readFileSync } from 'node:fs'
import { dirname, join, posix } from 'node:path'
import { listFiles, PackageManager } from '@vscode/vsce'
import { beforeAll, describe, expect, it } from 'vitest'
import { listingPage } from '../../client/scripts/package.ts'
import { temporaryFolder } from '../harness/process.ts'
import { projectPaths, root } from '../harness/sources.ts'

/** Pages that the packed extension shows: every link and picture leads to something in the package. */

let packed: ReadonlySet<string>

/** As the extension is packed, without what git ignores; the library's types leave the page out. */
beforeAll(async () => {
  using folder = temporaryFolder({})
  for (const path of projectPaths().filter(one => !/^(?:tests|server)\//.test(one))) {
    mkdirSync(join(folder.path, dirname(path)), { recursive: true })
    cpSync(join(root, path), join(folder.path, path))
  }
  // Nothing is installed there, and bundles hold what they need.
  const packing = { cwd: folder.path, packageManager: PackageManager.None, readmePath: listingPage }
  packed = new Set(await listFiles(packing as Parameters<typeof listFiles>[0]))
}, 180_000)

const read = (path: string): string => readFileSync(join(root, path), 'utf8')

interface Link {
  readonly to: string
  readonly isPicture: boolean
  /** What stands for a picture where it is not seen. */
  readonly text: string
}

function linksOf(markdown: string): readonly Link[] {
  const prose = markdown.replace(/```[\s\S]*?```|`[^`\n]*`/g, '')
  return [...prose.matchAll(/(!?)\[([^\]]*)\]\(([^)\s]+)\)/g)].map(([, mark, text = '', to = '']) => ({
    to,
    isPicture: mark === '!',
    text,
  }))
}

/** Links of a page that lead to nothing in the package. @param folder that of the page in the package */
function dead(path: string, folder: string): readonly string[] {
  return linksOf(read(path))
    .filter(({ to }) => !/^(?:#|command:|https:)/.test(to))
    .map(({ to }) => posix.normalize(posix.join(folder, to.split('#')[0] ?? '')))
    .filter(to => !packed.has(to))
}

describe('the listing page', () => {
  it('has three pictures, each with words for it, and no link that leads out of the package', () => {
    const pictures = linksOf(read(listingPage)).filter(({ isPicture }) => isPicture)
    expect(pictures).toHaveLength(3)
    expect(pictures.filter(({ text }) => text.length < 30)).toEqual([])
    // At the top of the package.
    expect(dead(listingPage, '.')).toEqual([])
  })

  it('says what it is, how to start and what can hurt', () => {
    const page = read(listingPage)
    expect(page).toMatch(/^# Detent\n/)
    for (const heading of ['## What it does', '## How to start', '## Cautions']) expect(page).toContain(heading)
    expect(page).toMatch(/never touches hardware/)
    expect(page).not.toMatch(/npm (start|test|run)/)
  })

  it('is the page that is packed', () => {
    expect(packed.has(listingPage)).toBe(true)
    expect([...packed].filter(path => /^readme\.md$/i.test(path))).toEqual([])
  })
})

describe('the other pages of the package', () => {
  it('lead to nothing that is not in it', () => {
    const pages = [...packed].filter(path => path.endsWith('.md') && path !== listingPage)
    expect(pages.length).toBeGreaterThan(5)
    for (const page of pages) expect([page, dead(page, dirname(page))]).toEqual([page, []])
  })

  it('show a picture at every step of the walkthrough but the first', () => {
    const { contributes } = JSON.parse(read('package.json')) as {
      readonly contributes: {
        readonly walkthroughs: readonly {
          readonly steps: readonly { readonly media: { readonly markdown: string } }[]
        }[]
      }
    }
    const [first, ...others] = contributes.walkthroughs.flatMap(({ steps }) => steps.map(({ media }) => media.markdown))
    expect(first).toContain('example')
    for (const page of others)
      expect([page, linksOf(read(page)).some(({ isPicture }) => isPicture)]).toEqual([page, true])
  })
})
