import { createHash } from 'node:crypto'
import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { pathToFileURL } from 'node:url'
import { chromium } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { startBrowser } from '../../client/scripts/editor/browser.ts'
import { findChromium } from '../../client/scripts/editor/install.ts'
import { type TemporaryFolder, temporaryFolder } from '../harness/process.ts'
import { benchText, detent } from './helpers.ts'

/** The page of a report runs what it was written with, and nothing else that stands in it. */

let folder: TemporaryFolder
let path: string
let page: string

beforeAll(async () => {
  const hostile =
    '\nrun evening of daily under work {\n  measured { power 60 W }\n  note "<script>broken = 1</script>"\n}\n'
  folder = temporaryFolder({ 'a.detent': benchText('') + hostile })
  await detent(folder.path, ['report', '--to', 'page.html'])
  path = join(folder.path, 'page.html')
  page = readFileSync(path, 'utf8')
})

afterAll(() => folder[Symbol.dispose]())

describe('the page of a report', () => {
  it('names each of its scripts and styles by what it holds, and allows no other', () => {
    const policy = /http-equiv="Content-Security-Policy" content="([^"]*)"/.exec(page)?.[1] ?? ''
    const directives = new Map(
      policy.split('; ').map(one => [one.slice(0, one.indexOf(' ')), one.slice(one.indexOf(' ') + 1).split(' ')]),
    )
    const named = (element: string): readonly string[] =>
      [...page.matchAll(new RegExp(`<${element}>([^]*?)</${element}>`, 'g'))].map(
        ([, text = '']) => `'sha256-${createHash('sha256').update(text).digest('base64')}'`,
      )
    expect(named('script')).toHaveLength(1)
    expect(directives.get('script-src')).toEqual(named('script'))
    expect(directives.get('style-src')).toEqual(named('style'))
    expect(directives.get('default-src')).toEqual(["'none'"])
    expect(policy).not.toContain('unsafe')
  })

  const executable = findChromium(process.env)
  if (executable === undefined) console.warn('No Chromium: the page of a report is not looked at in a browser.')

  it.skipIf(executable === undefined)(
    'draws its charts from the disk, says nothing, and runs nothing else',
    async () => {
      const server = await startBrowser(executable ?? '')
      try {
        const browser = await chromium.connect(server.wsEndpoint())
        const tab = await browser.newPage()
        const said: string[] = []
        tab.on('console', message => said.push(message.text()))
        tab.on('pageerror', error => said.push(error.message))
        await tab.goto(pathToFileURL(path).href)
        const faults = await tab.evaluate<readonly string[]>(`
          [...document.querySelectorAll('svg')].flatMap(svg => {
            const { width, height } = svg.getBoundingClientRect()
            const lines = svg.querySelectorAll('line, path, rect').length
            return width > 100 && height > 60 && lines > 10 ? [] : [svg.getAttribute('aria-label')]
          })`)
        expect(faults).toEqual([])
        expect(await tab.locator('svg').count()).toBeGreaterThan(1)
        expect(await tab.evaluate("getComputedStyle(document.querySelector('table')).borderCollapse")).toBe('collapse')
        expect(said).toEqual([])
        // Whatever gets into the page afterwards is not run, and the browser says so.
        const broken = await tab.evaluate(`
        document.body.append(Object.assign(document.createElement('script'), { textContent: 'window.broken = 1' }))
        'broken' in window
      `)
        expect(broken).toBe(false)
        expect(said.join('\n')).toMatch(/Content Security Policy/)
      } finally {
        await server.close()
      }
    },
  )
})
