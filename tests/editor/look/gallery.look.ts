import { expect, it } from 'vitest'
import { bench } from '../suite/bench.ts'
import {
  clickText,
  type Editor,
  inPreview,
  offeredFix,
  openEditor,
  openFile,
  runCommand,
  screenshot,
  typeText,
  visibleText,
  waitForSquiggle,
} from './editor.ts'

/** A picture of each thing that is offered beside the text, as a person sees it. */

const [before, profile] = bench.split('\nprofile ') as [string, string]
/** The profile first, so that it is in view. */
const onTop = (text: string): string => `detent 1\n\nprofile ${text}${before.replace('detent 1\n', '')}`

function ready({ page }: Editor): Promise<void> {
  return page
    .locator('[id="detent.detent.detent.status"]')
    .filter({ hasText: /ready|finding/ })
    .waitFor({ timeout: 40_000 })
}

it('offers the ratio that holds while a row is typed', async () => {
  const limited = profile.replace('  bands {', '  limits { die 70 °C }\n  bands {')
  const text = onTop(limited.replace('    3 to 8 cores   48x\n', ''))
  const editor = await openEditor({ 'row.detent': text }, 'row.detent')
  await ready(editor)
  await clickText(editor, '1 to 2 cores   52x')
  await typeText(editor, '\n3 to 8 cores ')
  const widget = editor.page.locator('.suggest-widget.visible')
  await widget.locator('.monaco-list-row').filter({ hasText: /\d+x/ }).first().waitFor()
  // The editor marks what is chosen a moment after it shows it.
  await expect.poll(() => widget.textContent()).toMatch(/\(\d+x would not: die limit\)/)
  await screenshot(editor, 'completion-ratio')
  await editor.page.keyboard.press('Tab')
  await expect.poll(() => visibleText(editor)).toMatch(/3 to 8 cores \d+x/)
})

it('offers keys with what they mean', async () => {
  const editor = await openEditor({ 'keys.detent': onTop(profile) }, 'keys.detent')
  await ready(editor)
  await clickText(editor, 'room shed')
  await typeText(editor, '\nli')
  const widget = editor.page.locator('.suggest-widget.visible')
  await widget.locator('.monaco-list-row').filter({ hasText: 'limits' }).first().waitFor()
  await screenshot(editor, 'completion-keys')
  await editor.page.keyboard.press('Tab')
  await expect.poll(() => visibleText(editor)).toContain('limits {')
})

it('fixes a gap from the light bulb', async () => {
  const text = onTop(profile.replace('3 to 8 cores   48x', '4 to 8 cores   48x'))
  const editor = await openEditor({ 'fix.detent': text }, 'fix.detent')
  const { page } = editor
  await waitForSquiggle(editor, 'error')
  await clickText(editor, '1 to 2 cores')
  await offeredFix(editor, 'Let 48x hold for 3 to 8 cores')
  await screenshot(editor, 'quick-fix')
  await page.keyboard.press('Enter')
  await expect.poll(() => visibleText(editor)).toContain('3 to 8 cores   48x')
})

it('shows before a rename what it would change in which file', async () => {
  const files = { 'bench.detent': before, 'daily.detent': `detent 1\nuse "bench.detent"\n\nprofile ${profile}` }
  const editor = await openEditor(files, 'daily.detent')
  const { page } = editor
  await ready(editor)
  await clickText(editor, 'cooler tower')
  await page.keyboard.press('F2')
  const box = page.locator('.rename-box input')
  await box.waitFor()
  await box.fill('spire')
  await screenshot(editor, 'rename-box')
  await page.keyboard.press('Control+Enter')
  const preview = page.locator('.part.panel').filter({ hasText: 'Refactor Preview' })
  await preview.locator('.monaco-list-row').filter({ hasText: 'bench.detent' }).first().waitFor()
  for (const name of ['daily.detent', 'bench.detent']) {
    const file = preview.locator('.monaco-list-row').filter({ hasText: name }).first()
    await file.locator('.monaco-icon-label').click()
    await page.keyboard.press('ArrowRight')
  }
  await expect.poll(() => preview.locator('.monaco-list-row').filter({ hasText: 'spire' }).count()).toBe(2)
  await screenshot(editor, 'rename-preview')
  await page.locator('.part.panel .monaco-button').filter({ hasText: 'Apply' }).click()
  await expect.poll(() => visibleText(editor)).toContain('cooler spire')
})

it('writes a profile out beside the text', async () => {
  const text = onTop(profile).replace(
    '\n\npart ',
    '\n\nprofile quiet based-on first {\n  steps { 1 to 8 cores 44x }\n  limits { die 80 °C }\n}\n\npart ',
  )
  const editor = await openEditor({ 'resolved.detent': text }, 'resolved.detent')
  const { page } = editor
  await page.locator('.codelens-decoration a').filter({ hasText: 'Show the resolved profile' }).click()
  await runCommand(editor, 'View: Toggle Primary Side Bar Visibility')
  await page.locator('.tab').filter({ hasText: 'quiet (resolved).detent' }).waitFor()
  await page.locator('.editor-instance .view-line').filter({ hasText: 'quiet, line' }).first().waitFor()
  await screenshot(editor, 'resolved-profile')
})

/** How wide the picture of a step's page is once it is loaded; zero where it is broken. */
function pictureWidth({ page }: Editor): Promise<number> {
  const preview = page.frameLocator('iframe.webview.ready').last().frameLocator('#active-frame')
  return preview
    .locator('img')
    .first()
    .evaluate(image => (image as unknown as { naturalWidth: number }).naturalWidth)
}

it('walks a newcomer through the first steps', async () => {
  const editor = await openEditor({ 'a.detent': 'detent 1\n' }, 'a.detent')
  const { page } = editor
  // With the side bar there is no room for the pages beside the steps.
  await runCommand(editor, 'View: Toggle Primary Side Bar Visibility')
  await page.keyboard.press('F1')
  await page.locator('.quick-input-widget input.input').first().fill('>Welcome: Open Walkthrough...')
  await page.locator('.quick-input-list .monaco-list-row.focused').filter({ hasText: 'Open Walkthrough' }).waitFor()
  await page.keyboard.press('Enter')
  await page.locator('.quick-input-list .monaco-list-row').filter({ hasText: 'Your first profile' }).click()
  const steps = page.locator('.getting-started-step')
  await steps.first().waitFor()
  const pages = [
    'A file holds definitions',
    'Rest the pointer on a row',
    'Steps with a gap',
    'in the order of your own firmware',
    'After a run, pick its log',
    'fitted to your runs',
    'side by side, the settings that differ',
  ]
  expect(await steps.count()).toBe(pages.length)
  for (const [index, words] of pages.entries()) {
    await steps.nth(index).click()
    await inPreview(editor, words)
    if (index > 0) await expect.poll(() => pictureWidth(editor)).toBeGreaterThan(200)
    await screenshot(editor, `walkthrough-${index + 1}`)
  }
  await steps.first().click()
  await page.locator('.getting-started-step .monaco-button').filter({ hasText: 'Open the Example' }).click()
  await expect.poll(() => visibleText(editor), { timeout: 15_000 }).toContain('part my-sample')
})

it('marks its files in the explorer', async () => {
  const editor = await openEditor({ 'a.detent': 'detent 1\n', 'b.txt': 'text\n' }, 'a.detent')
  await openFile(editor, 'b.txt')
  const icon = editor.page.locator('.explorer-folders-view .detent-lang-file-icon').first()
  await icon.waitFor()
  const image = await icon.evaluate(element => {
    const view = element.ownerDocument.defaultView as unknown as {
      getComputedStyle(of: unknown, part: string): { backgroundImage: string }
    }
    return view.getComputedStyle(element, '::before').backgroundImage
  })
  expect(image).toContain('file-')
  await runCommand(editor, 'View: Close All Editors')
})
