import { join } from 'node:path'
import type { Page } from 'playwright-core'
import { expect, it } from 'vitest'
import { root } from '../../../client/scripts/editor/cache.ts'
import { detent } from '../../cli/helpers.ts'
import { openAlone } from './editor.ts'

/** The pages that are opened outside the editor, from a phone beside the machine to a wide screen. */

const examples = join(root, 'grammar', 'examples')
const widths = [390, 700, 1400]

async function pageOf(...args: string[]): Promise<string> {
  const { out } = await detent(examples, args)
  expect(out).toContain('<!doctype html>')
  return out
}

/** Figures in sentences whose unit stands on the next line. */
const figuresApart = (page: Page): Promise<string[]> =>
  page.evaluate<string[]>(`
    [...document.querySelectorAll('p, li, .words, .remark')].flatMap(element => {
      const walker = document.createTreeWalker(element, NodeFilter.SHOW_TEXT)
      const apart = []
      for (let node = walker.nextNode(); node; node = walker.nextNode())
        for (const found of node.data.matchAll(/\\d\\s(?:°C|K|W|V|mV|GHz|MHz|s)(?![\\p{L}\\/])/gu)) {
          const range = document.createRange()
          range.setStart(node, found.index)
          range.setEnd(node, found.index + found[0].length)
          const tops = [...range.getClientRects()].map(({ bottom }) => Math.round(bottom))
          if (Math.max(...tops) - Math.min(...tops) > 8) apart.push(node.data.slice(Math.max(0, found.index - 20), found.index + 9))
        }
      return apart
    })`)

it.each(widths)('the entry sheet fits %s pixels, values whole, boxes to tick', async width => {
  for (const args of [['light-work'], ['summer', '--from', 'winter']]) {
    const page = await openAlone(await pageOf('sheet', ...args, 'bench', '--output', 'html'), width)
    expect(await page.evaluate<number>('document.documentElement.scrollWidth')).toBeLessThanOrEqual(width)
    // A value that stands on one line has one rectangle for its text.
    const broken = await page.evaluate<string[]>(`
      [...document.querySelectorAll('td.enter, td.before, td.for')].flatMap(cell => {
        const range = document.createRange()
        range.selectNodeContents(cell)
        return range.getClientRects().length > 1 ? [cell.textContent] : []
      })`)
    expect(broken).toEqual([])
    expect(await figuresApart(page)).toEqual([])
    const boxes = page.getByRole('checkbox')
    expect(await boxes.count()).toBeGreaterThan(1)
    await boxes.first().check()
    await page.locator('label').nth(1).click()
    await page.setViewportSize({ width: width + 200, height: 700 })
    expect(await boxes.nth(0).isChecked()).toBe(true)
    expect(await boxes.nth(1).isChecked()).toBe(true)
    await page.setViewportSize({ width, height: 900 })
    await page.screenshot({ path: join(root, 'test-output', `sheet-${args[0]}-${width}.png`), fullPage: true })
    await page.context().close()
  }
})

/** Made once, of two profiles with runs: every kind of table, without the minutes that courses of all profiles take. */
let report: Promise<string> | undefined
const baseline = ['--profile', 'light-work', '--baseline', 'light-work']

it.each(widths)(
  'the report fits %s pixels; what is wider moves in its own box, which the keyboard reaches',
  async width => {
    report ??= pageOf('report', 'bench', '--profile', 'heavy-work', ...baseline)
    const page = await openAlone(await report, width)
    expect(await page.evaluate<number>('document.documentElement.scrollWidth')).toBeLessThanOrEqual(width)
    const cut = await page.evaluate<number>(`
      [...document.querySelectorAll('table')].filter(table => {
        const box = table.closest('.wide')
        return box === null || (table.offsetWidth > box.clientWidth && box.tabIndex !== 0)
      }).length`)
    expect(cut).toBe(0)
    expect(await figuresApart(page)).toEqual([])
    await page.screenshot({ path: join(root, 'test-output', `report-${width}.png`) })
    await page.context().close()
  },
  180_000,
)

/** What A4 with the margins of the page leaves, in CSS pixels of 1/96 inch. */
const sheetPx = { width: ((210 - 24) / 25.4) * 96, height: ((297 - 22) / 25.4) * 96 }

const pagesIn = (pdf: Buffer): number => pdf.toString('latin1').match(/\/Type\s*\/Page\b(?!s)/g)?.length ?? 0

it('the report is printed with no chart cut by the end of a sheet, a profile on two sheets at most', async () => {
  report ??= pageOf('report', 'bench', '--profile', 'heavy-work', ...baseline)
  const page = await openAlone(await report, Math.round(sheetPx.width))
  await page.emulateMedia({ media: 'print' })
  const charts = await page.evaluate<{ height: number; rule: string }[]>(`
    [...document.querySelectorAll('.detent-chart')].map(chart => ({
      height: chart.getBoundingClientRect().height,
      rule: getComputedStyle(chart).breakInside,
    }))`)
  expect(charts.length).toBeGreaterThan(8)
  for (const { height, rule } of charts) {
    // What fits on a sheet and may not be broken is whole.
    expect(rule).toBe('avoid')
    expect(height).toBeGreaterThan(60)
    expect(height).toBeLessThan(sheetPx.height)
  }
  // A line of a file is one on paper: where it goes on, it would read as the next.
  // Paper has no pixels that letters are rounded to.
  await page.evaluate<void>("document.body.style.textRendering = 'geometricPrecision'")
  const broken = await page.evaluate<string[]>(`
    [...document.querySelectorAll('pre')].flatMap(pre => {
      let from = 0
      return pre.textContent.split('\\n').filter(line => {
        const range = document.createRange()
        range.setStart(pre.firstChild, from)
        range.setEnd(pre.firstChild, from + line.length)
        from += line.length + 1
        return new Set([...range.getClientRects()].flatMap(({ width, top }) => (width > 0 ? [Math.round(top)] : []))).size > 1
      })
    })`)
  expect(broken).toEqual([])
  await page.pdf({ path: join(root, 'test-output', 'report.pdf'), preferCSSPageSize: true })
  const chapters = await page.evaluate<string[]>(
    "[...document.querySelectorAll('h2.chapter')].map(head => head.textContent)",
  )
  const profiles = chapters.filter(head => head.startsWith('Profile '))
  expect(profiles).toHaveLength(2)
  for (const profile of profiles) {
    await page.evaluate<void>(`{
      let own = false
      for (const one of document.querySelector('h2.chapter').parentElement.children) {
        if (one.matches('h2')) own = one.textContent === ${JSON.stringify(profile)}
        one.style.display = own ? '' : 'none'
      }
    }`)
    const sheets = pagesIn(await page.pdf({ preferCSSPageSize: true }))
    expect(sheets, profile).toBeGreaterThan(0)
    expect(sheets, profile).toBeLessThanOrEqual(2)
  }
  await page.context().close()
}, 180_000)
