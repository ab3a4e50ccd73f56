import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { expect, it } from 'vitest'
import { parseFile } from '../../../grammar/file.ts'
import { format } from '../../../grammar/printer.ts'
import { bench } from '../suite/bench.ts'
import {
  clickText,
  type Editor,
  hoverText,
  inPreview,
  openEditor,
  runCommand,
  save,
  screenshot,
  typeText,
  visibleText,
  waitForSquiggle,
} from './editor.ts'

it('underlines a gap in the steps, and says what it is', async () => {
  const text =
    bench.slice(0, bench.indexOf('load all-cores')) +
    bench.slice(bench.indexOf('load all-cores')).replace('3 to 8 cores   48x', '4 to 8 cores   48x')
  // The profile first, so that it is in view.
  const [before, profile] = text.split('\nprofile ') as [string, string]
  const editor = await openEditor(
    { 'gap.detent': `detent 1\n\nprofile ${profile}${before.replace('detent 1\n', '')}` },
    'gap.detent',
  )
  await waitForSquiggle(editor, 'error')
  const shown = await hoverText(editor, '1 to 2 cores')
  expect(shown).toContain('steps-gap')
  await screenshot(editor, 'language-squiggle')
})

/** The page of a check is in view, and rendered: what its source writes between signs is a heading here. */
async function showsPage({ page }: Editor, code: string): Promise<void> {
  await page.locator('.tab.active').filter({ hasText: code }).waitFor()
  const preview = page.frameLocator('iframe.webview.ready').last().frameLocator('#active-frame')
  await preview.getByRole('heading', { name: code, exact: true }).waitFor()
  await preview.getByText('Core counts without a ratio').first().waitFor()
}

it('opens the page of a check rendered, from the hover and from the list of problems', async () => {
  const text = bench.replace('3 to 8 cores   48x', '4 to 8 cores   48x')
  const [before, profile] = text.split('\nprofile ') as [string, string]
  const editor = await openEditor(
    { 'page.detent': `detent 1\n\nprofile ${profile}${before.replace('detent 1\n', '')}` },
    'page.detent',
  )
  const { page } = editor
  await waitForSquiggle(editor, 'error')
  await hoverText(editor, '1 to 2 cores')
  await page.locator('.monaco-hover:not(.hidden) a').filter({ hasText: 'steps-gap' }).click()
  await showsPage(editor, 'steps-gap')
  await screenshot(editor, 'language-page-of-check')
  await page.keyboard.press('Control+W')
  await page.locator('.tab.active[data-resource-name="page.detent"]').waitFor()
  await runCommand(editor, 'View: Focus Problems')
  await page.locator('.markers-panel a').filter({ hasText: 'steps-gap' }).click()
  await showsPage(editor, 'steps-gap')
})

it('shows the predicted clock of a step, and formats on save', async () => {
  const [before, profile] = bench.split('\nprofile ') as [string, string]
  const tidy = `detent 1\n\nprofile ${profile}${before.replace('detent 1\n', '')}`
  const untidy = tidy.replace('    3 to 8 cores   48x', '  3 to 8 cores 48 x')
  const editor = await openEditor({ 'bench.detent': untidy }, 'bench.detent')
  await editor.page
    .locator('[id="detent.detent.detent.status"]')
    .filter({ hasText: 'ready' })
    .waitFor({ timeout: 40_000 })
  const shown = await hoverText(editor, '3 to 8 cores 48')
  expect(shown).toMatch(/all-cores \(8 cores\)/)
  expect(shown).toMatch(/\d\.\d\d GHz/)
  expect(shown).not.toContain('Assumed')
  await screenshot(editor, 'language-hover')
  await editor.page.locator('.monaco-hover:not(.hidden) a', { hasText: 'Show workings' }).click()
  await inPreview(editor, 'Assumed')
  await screenshot(editor, 'language-workings')
  await editor.page.keyboard.press('Escape')
  await clickText(editor, 'detent 1')
  await typeText(editor, '   # typed')
  await save(editor)
  await expect
    .poll(() => readFileSync(join(editor.folder, 'bench.detent'), 'utf8'))
    .toBe(format(parseFile(untidy.replace('detent 1', 'detent 1   # typed'))))
  await expect.poll(() => visibleText(editor)).toContain('    3 to 8 cores   48x')
  await screenshot(editor, 'language-formatted')
})

it('shows verdicts above a profile, and figures at the line ends until the keys that hide them are held', async () => {
  const [before, profile] = bench.split('\nprofile ') as [string, string]
  const expecting = profile.replace('  bands {', '  expect all-cores holds >= 4.0 GHz\n  bands {')
  const text = `detent 1\n\nprofile ${expecting}${before.replace('detent 1\n', '')}`
  const editor = await openEditor({ 'beside.detent': text }, 'beside.detent')
  await editor.page.locator('.codelens-decoration').filter({ hasText: '1 of 1 expectation holds' }).waitFor()
  await clickText(editor, 'detent 1')
  await expect.poll(() => visibleText(editor), { timeout: 10_000 }).toMatch(/3 to 8 cores {3}48x\s*\d\.\d\d GHz$/m)
  await screenshot(editor, 'language-beside')
  await editor.page.keyboard.down('Control')
  await editor.page.keyboard.down('Alt')
  await expect.poll(() => visibleText(editor), { timeout: 10_000 }).not.toMatch(/48x\s*\d\.\d\d GHz/)
  await editor.page.keyboard.up('Alt')
  await editor.page.keyboard.up('Control')
})
