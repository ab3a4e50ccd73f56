/** A course as a person sees it: what its hovers say, its chart beside the text, its expectation among the tests. */
import { expect, it } from 'vitest'
import { bench } from '../suite/bench.ts'
import { panel, shows } from './beside-panel.ts'
import { clickText, hoverText, openEditor, runCommand, screenshot } from './editor.ts'

// The course first, so that it is in view.
const [before, profile] = bench.split('\nprofile ') as [string, string]
const course =
  'course long-day {\n  start room\n  all-cores 2 min\n  fault fan 0 %\n  all-cores 4 min\n  idle 1 min\n}\n'
const expecting = profile.replace('  bands {', '  expect course long-day die <= 60 °C\n  bands {')
const text = `detent 1\n\n${course}\nprofile ${expecting}${before.replace('detent 1\n', '')}`

it('has hovers, a chart and a test', { timeout: 180_000 }, async () => {
  const editor = await openEditor({ 'day.detent': text }, 'day.detent')
  const { page } = editor
  await page.locator('.codelens-decoration').filter({ hasText: 'expectation' }).first().waitFor({ timeout: 60_000 })

  // The answer first, then a table of the steps; a step's own hover has its figures.
  const said = await hoverText(editor, 'long-day')
  expect(said).toMatch(/On profile first/)
  expect(said).toMatch(/all-cores\s+2 min\s+4\.\d\d GHz/)
  await screenshot(editor, 'course-hover')
  expect(await hoverText(editor, '4 min')).toMatch(/4 min\s+\d\.\d\d GHz/)
  await screenshot(editor, 'course-step-hover')
  await page.mouse.move(0, 0)

  await clickText(editor, 'all-cores 4 min')
  await runCommand(editor, 'Detent: Show Charts Beside')
  await shows(editor, 'first: course long-day')
  // The fault is a mark, which says when and what, and goes to its line.
  const marks = await panel(editor).locator('#picture').textContent()
  expect(marks).toContain('fan at 0 %')
  await screenshot(editor, 'course-chart')

  await page.locator('.activitybar .action-label[aria-label^="Testing"]').click()
  await runCommand(editor, 'Test: Run All Tests')
  const rows = page.locator('.test-explorer .monaco-list-row')
  const file = rows.filter({ hasText: 'day.detent' })
  await file.waitFor({ timeout: 20_000 })
  await expect.poll(() => page.locator('.codicon-testing-failed-icon').count()).toBeGreaterThan(0)
  await page.locator('.part.panel').filter({ hasText: 'course long-day die <= 60 °C' }).waitFor()
  await screenshot(editor, 'course-test')
})
