import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterAll, expect, it } from 'vitest'
import { benchFolder, openBench } from './beside-panel.ts'
import {
  clickText,
  type Editor,
  leavePage,
  message,
  offeredFix,
  runCommand,
  screenshot,
  startCommand,
  visibleText,
} from './editor.ts'

/** From the bench and back, as a person sees it: a run from its log, a fit, trials, a report; on the example bench. */

afterAll(leavePage)

/** The text of the preview that is in view. */
async function previewText({ page }: Editor): Promise<string> {
  for (const frame of page.frames()) {
    const text = await frame
      .locator('.markdown-body')
      .first()
      .textContent({ timeout: 200 })
      .catch(() => '')
    if (text) return text
  }
  return ''
}

it('writes a run from a log that is picked', async () => {
  const editor = await openBench('heavy-work.detent')
  const { page } = editor
  await clickText(editor, 'profile heavy-work')
  await startCommand(editor, 'Detent: Add Run from Log')
  const box = page.locator('.quick-input-widget input.input').first()
  await expect.poll(() => box.inputValue(), { timeout: 15_000 }).toContain('workspace-')
  const path = join(editor.folder, 'logs', 'tank-render.csv')
  const rows = page.locator('.quick-input-list .monaco-list-row')
  const take = page.locator('.quick-input-action .monaco-button').filter({ hasText: 'Take this log' })
  // The file sees one profile: there is nothing to ask about that.
  const load = page.locator('.quick-input-widget input[placeholder="Which load was heavy-work run under?"]')
  // The editor's dialog puts its folder back over what was typed while it read that.
  const taken = async (): Promise<boolean> => {
    if (await load.isVisible()) return true
    if ((await box.inputValue({ timeout: 1000 }).catch(() => path)) !== path) await box.fill(path)
    await rows
      .filter({ hasText: 'tank-render.csv' })
      .waitFor({ timeout: 3000 })
      .catch(() => undefined)
    await take.click({ timeout: 1000 }).catch(() => undefined)
    return load.isVisible()
  }
  await expect.poll(taken, { timeout: 40_000, interval: 500 }).toBe(true)
  await rows.filter({ hasText: 'render' }).waitFor()
  await screenshot(editor, 'run-which-load')
  await load.fill('render')
  await rows.and(page.locator('.focused')).filter({ hasText: 'render' }).waitFor()
  await page.keyboard.press('Enter')
  await expect.poll(() => visibleText(editor)).toMatch(/run tank-render(?:-\d+)? of heavy-work under render \{/)
  await (await message(editor, 'Run tank-render')).waitFor()
  await screenshot(editor, 'run-from-log')
})

it('offers the fit on the name of the part', async () => {
  const editor = await openBench('bench.detent')
  const { page } = editor
  await clickText(editor, 'part sample-b7')
  await offeredFix(editor, 'Fit sample-b7 to its 10 runs')
  await screenshot(editor, 'fit-action')
  await page.keyboard.press('Enter')
  // The correlations go into a file beside it.
  await expect.poll(() => visibleText(editor), { timeout: 60_000 }).toContain('use "sample-b7.fitted.detent"')
  expect(await visibleText(editor)).toMatch(/leakage\s+\d+\.\d+\sW\s±\s\d/)
  await screenshot(editor, 'fit-written')
})

it('shows the fit before it writes it', async () => {
  const editor = await openBench('bench.detent')
  await runCommand(editor, 'View: Toggle Primary Side Bar Visibility')
  await clickText(editor, 'part sample-b7')
  await runCommand(editor, 'Detent: Fit Part to Runs')
  await expect.poll(() => previewText(editor), { timeout: 60_000 }).toContain('Fit of part sample-b7')
  const found = await message(editor, 'constants fitted to 10 runs')
  await found.waitFor()
  await screenshot(editor, 'fit-paper')
  await found.locator('.monaco-button').filter({ hasText: 'Write into the File' }).click()
  await expect.poll(() => visibleText(editor), { timeout: 15_000 }).toContain('use "sample-b7.fitted.detent"')
  expect(await visibleText(editor)).toMatch(/leakage\s+\d+\.\d+\sW\s±\s\d/)
})

it('shows what trials say of the voltages, from the line above them', async () => {
  const editor = await openBench('bench.detent')
  const { page } = editor
  await runCommand(editor, 'View: Toggle Primary Side Bar Visibility')
  const line = page.locator('.codelens-decoration a').filter({ hasText: /Trials:\s\d\sof\s6\srows\s\w+/ })
  await line.waitFor()
  await screenshot(editor, 'trials-line')
  await line.click()
  await expect.poll(() => previewText(editor), { timeout: 20_000 }).toContain('Voltages of part sample-b7')
  const paper = await previewText(editor)
  expect(paper).toMatch(/30\smin\sat\s1\.\d{3}\sV/)
  expect(paper).toContain('Next trial for light-work')
  expect(paper).toMatch(/holds\s\(\d+\s%\):\s\d+x\sthen\stakes/)
  await screenshot(editor, 'trials-paper')
})

it('adds the trial that is picked as a run', async () => {
  const editor = await openBench('heavy-work.detent')
  const { page } = editor
  await clickText(editor, 'profile heavy-work')
  await startCommand(editor, 'Detent: Add the Next Trial')
  const rows = page.locator('.quick-input-list .monaco-list-row')
  const first = rows.filter({ hasText: /\d+x with \d\.\d{3} V set under [a-z-]+, \d0 min/ }).first()
  await first.waitFor()
  expect(await page.locator('.quick-input-list').textContent()).toContain('at most 30 % likely to stop')
  await screenshot(editor, 'trials-which')
  await first.click()
  await expect.poll(() => visibleText(editor)).toMatch(/run [a-z-]+-\d+x(?:-\d+)? of heavy-work under [a-z-]+ \{/)
  expect(await visibleText(editor)).toMatch(/# held \d0 min/)
  await screenshot(editor, 'trials-run')
})

it('saves the report as a page with charts', { timeout: 150_000 }, async () => {
  const editor = await openBench('light-work.detent', benchFolder())
  const { page } = editor
  await startCommand(editor, 'Detent: Bench Report')
  await page.locator('.quick-input-list .monaco-list-row').filter({ hasText: 'light-work' }).first().waitFor()
  await screenshot(editor, 'report-which-profiles')
  await page.keyboard.press('Enter')
  const none = page.locator('.quick-input-list .monaco-list-row').filter({ hasText: 'No comparison' })
  await none.waitFor()
  await none.click()
  const box = page.locator('.quick-input-widget input.input').first()
  await expect.poll(() => box.inputValue().catch(() => ''), { timeout: 90_000 }).toContain('report.html')
  await screenshot(editor, 'report-saved-where')
  await page.keyboard.press('Enter')
  const file = join(editor.folder, 'report.html')
  await expect.poll(() => readFileSync(file, 'utf8'), { timeout: 10_000 }).toContain('<svg class="detent-chart"')
})
