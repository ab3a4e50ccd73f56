/** What If beside the text, and what has changed since the last commit above a profile: as a person sees them. */
import { mkdirSync, mkdtempSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { expect, it } from 'vitest'
import { root } from '../../../client/scripts/editor/cache.ts'
import { commitFiles, startRepository } from '../../harness/repository.ts'
import { bench } from '../suite/bench.ts'
import { panel, shows } from './beside-panel.ts'
import {
  clickText,
  type Editor,
  hoverText,
  inPreview,
  openEditor,
  openFolder,
  runCommand,
  screenshot,
  startCommand,
  typeText,
} from './editor.ts'

const step = '3 to 8 cores   48x'

/** A folder with a commit, and the same text with a slower step since. */
async function changedSince(): Promise<Editor> {
  const output = join(root, 'test-output')
  mkdirSync(output, { recursive: true })
  const folder = mkdtempSync(join(output, 'workspace-'))
  startRepository(folder)
  // The profile first, so that it is in view.
  const [before = '', profile = ''] = bench.split('\nprofile ')
  const text = `detent 1\n\nprofile ${profile}${before.replace('detent 1\n', '')}`
  expect(text).toContain(step)
  commitFiles(folder, { 'day.detent': text })
  writeFileSync(join(folder, 'day.detent'), text.replace(step, step.replace('48x', '46x')))
  return openFolder(folder, 'day.detent')
}

/** What the editor writes behind lines stands in its style sheets. */
const decorations = ({ page }: Editor): Promise<string> =>
  page.evaluate<string>(
    `[...document.styleSheets].flatMap(sheet => [...sheet.cssRules].map(rule => rule.cssText)).filter(rule => rule.includes('what if:')).join(' ')`,
  )

/** Opens the field and types into it, once it stands in a group of its own: what closes a brace by itself is lost in the move. */
async function typeStatement(editor: Editor, statement: string): Promise<void> {
  const { page } = editor
  await startCommand(editor, 'Detent: What If …')
  const tab = (hasText: string) => page.locator('.tab').filter({ hasText })
  await page
    .locator('.editor-group-container')
    .filter({ has: tab('What if first') })
    .filter({ hasNot: tab('day.detent') })
    .waitFor()
  await typeText(editor, statement)
  await page.keyboard.press('Escape')
}

it('shows what statements would change beside the lines, and lets go of it', { timeout: 120_000 }, async () => {
  const editor = await changedSince()
  const { page } = editor
  await clickText(editor, '3 to 8 cores')
  await typeStatement(editor, 'room shed { air 34 °C }')
  const line = page.locator('.codelens-decoration').filter({ hasText: 'Not written · first:' })
  await line.waitFor()
  await expect.poll(() => decorations(editor)).toMatch(/what if: .*W margin/)
  await screenshot(editor, 'what-if')
  await page.locator('.codelens-decoration a').filter({ hasText: 'Show all' }).click()
  await inPreview(editor, '1 of 1 profile differs')
  await screenshot(editor, 'what-if-page')
  expect(await page.locator('.notification-toast').filter({ hasText: 'Failed to save' }).count()).toBe(0)
  await runCommand(editor, 'Detent: Close What If')
  await line.waitFor({ state: 'detached' })
})

it('follows a course in sight, and what shows it as written says so', { timeout: 180_000 }, async () => {
  // The course first, so that it is in view.
  const [before = '', profile = ''] = bench.split('\nprofile ')
  const course = 'course long-day {\n  start room\n  all-cores 2 min\n  idle 1 min\n}\n'
  const text = `detent 1\n\n${course}\nprofile ${profile}${before.replace('detent 1\n', '')}`
  const editor = await openEditor({ 'day.detent': text }, 'day.detent')
  const { page } = editor
  await clickText(editor, 'all-cores 2 min')
  await runCommand(editor, 'Detent: Show Charts Beside')
  await shows(editor, 'first: course long-day')
  const note = panel(editor).locator('#note')
  expect(await note.textContent()).not.toContain('As written')

  await clickText(editor, 'profile first')
  await typeStatement(editor, 'room shed { air 34 °C }')
  const line = page
    .locator('.codelens-decoration')
    .filter({ hasText: /Not written · first: .*course long-day ends after/ })
  await line.waitFor({ timeout: 60_000 })
  await expect.poll(() => decorations(editor)).toMatch(/what if: first: ends after 3 min, die up to/)
  await expect.poll(() => note.textContent()).toContain('As written')
  await screenshot(editor, 'what-if-course')
  const said = await hoverText(editor, 'long-day')
  expect(said).toMatch(/What if: first: ends after 3 min, die up to [\d.]+ °C, .*\. All else here is as written\./)
  expect(said).toMatch(/On profile first/)
  await screenshot(editor, 'what-if-course-hover')
  await page.mouse.move(0, 0)
  await runCommand(editor, 'Detent: Close What If')
  await line.waitFor({ state: 'detached' })
  await expect.poll(() => note.textContent()).not.toContain('As written')
})

it('says above a profile what has changed since the last commit, once it is clicked', {
  timeout: 120_000,
}, async () => {
  const editor = await changedSince()
  const { page } = editor
  await clickText(editor, '3 to 8 cores')
  const asked = page.locator('.codelens-decoration a').filter({ hasText: 'Since last commit …' })
  await asked.waitFor()
  await asked.click()
  const told = page.locator('.codelens-decoration a').filter({ hasText: /since last commit:/i })
  await told.waitFor()
  await screenshot(editor, 'since')
  await startCommand(editor, 'Detent: Compare the Bench Since a Commit …')
  await page.locator('.quick-input-list .monaco-list-row').filter({ hasText: 'values' }).waitFor()
  await screenshot(editor, 'since-commits')
  await page.keyboard.press('Escape')
})
