import { expect, it } from 'vitest'
import { bench } from '../suite/bench.ts'
import { clickText, type Editor, openEditor, runCommand, screenshot, typeText } from './editor.ts'

/** Expectations as tests: in the Test Explorer and at the lines. */

const [before, profile] = bench.split('\nprofile ') as [string, string]
const expecting = profile.replace(
  '  bands {',
  '  expect all-cores holds >= 4.0 GHz\n  expect all-cores die <= 60 °C\n  bands {',
)
const text = `detent 1\n\nprofile ${expecting}${before.replace('detent 1\n', '')}`

/** Rows of the Test Explorer as they are read out: name, figure and result. */
function rows({ page }: Editor): Promise<string[]> {
  return page
    .locator('.test-explorer .monaco-list-row')
    .evaluateAll(elements =>
      elements.map(element => (element.getAttribute('aria-label') ?? '').replaceAll('\u00a0', ' ')),
    )
}

it('shows each expectation with its figure, in the gutter too, and follows what is typed', async () => {
  const editor = await openEditor({ 'expecting.detent': text }, 'expecting.detent')
  const { page } = editor
  await page.locator('.activitybar .action-label[aria-label^="Testing"]').click()
  const file = page.locator('.test-explorer .monaco-list-row').filter({ hasText: 'expecting.detent' })
  await file.waitFor({ timeout: 20_000 })
  const first = page.locator('.test-explorer .monaco-list-row').filter({ hasText: 'first' })
  // A click misses a row that is being drawn again; what is open already stays open.
  await expect
    .poll(async () => {
      for (const row of [file, first]) {
        await row.click({ timeout: 3000 }).catch(() => undefined)
        await page.keyboard.press('ArrowRight')
      }
      return (await rows(editor)).length
    })
    .toBe(4)
  await expect
    .poll(async () => (await rows(editor)).join('\n'))
    .toMatch(
      /holds >= 4\.0 GHz: 4\.\d+ GHz, probability \d+ % \(Passed\)\n.*die <= 60 °C: \d\d\.\d+ °C, probability \d+ % \(Failed\)/,
    )
  await expect.poll(() => page.locator('.testing-run-glyph').count()).toBe(3)
  await expect.poll(() => page.locator('.codicon-testing-failed-icon.testing-run-glyph').count()).toBe(2)
  await screenshot(editor, 'tests-explorer')

  await clickText(editor, 'die <= 60')
  await page.keyboard.press('Backspace')
  await page.keyboard.press('Backspace')
  await typeText(editor, '90')
  await expect.poll(() => page.locator('.codicon-testing-passed-icon.testing-run-glyph').count()).toBe(3)
  // What follows by itself neither opens the results nor takes the cursor out of the text.
  expect(await page.locator('.part.panel').isVisible()).toBe(false)
  await typeText(editor, '.5')
  await expect.poll(async () => (await rows(editor)).join('\n')).toContain('die <= 90.5 °C')
  await screenshot(editor, 'tests-typed')

  await runCommand(editor, 'Test: Run All Tests')
  const results = page.locator('.part.panel')
  await results.filter({ hasText: 'all-cores die <= 90.5 °C' }).waitFor()
  await screenshot(editor, 'tests-run')
})
