import { expect, it } from 'vitest'
import { bench } from '../suite/bench.ts'
import { clickText, type Editor, inPreview, openEditor, screenshot, startCommand, visibleText } from './editor.ts'

/** What menus offer by what they are opened on, and what a new file begins with. */

function ready({ page }: Editor): Promise<void> {
  return page
    .locator('[id="detent.detent.detent.status"]')
    .filter({ hasText: /ready|finding/ })
    .waitFor({ timeout: 40_000 })
}

const menuEntry = ({ page }: Editor, title: string) =>
  page.locator('.monaco-menu .action-item').filter({ hasText: title })

it('indents the first empty file by two', async () => {
  const editor = await openEditor({ 'empty.detent': '' }, 'empty.detent')
  const { page } = editor
  await ready(editor)
  await expect.poll(() => page.locator('[id="status.editor.indentation"]').textContent()).toContain('2')
  await page.locator('.editor-instance .view-lines').first().click()
  await page.keyboard.type('room attic {', { delay: 60 })
  await page.keyboard.press('Enter')
  await page.keyboard.type('air', { delay: 60 })
  await page.keyboard.press('Escape')
  await expect.poll(() => visibleText(editor)).toContain('\n  air')
})

it('offers a file of the language where new files are made', async () => {
  const editor = await openEditor({ 'a.detent': 'detent 1\n' }, 'a.detent')
  const { page } = editor
  await ready(editor)
  await startCommand(editor, 'Create: New File...')
  const entry = page.locator('.quick-input-list .monaco-list-row').filter({ hasText: 'New Detent File' })
  await entry.waitFor()
  await screenshot(editor, 'new-file')
  await entry.click()
  await page.locator('[id="status.editor.mode"]').filter({ hasText: 'Detent' }).waitFor()
  await expect.poll(() => visibleText(editor)).toMatch(/^detent 1\n/)
})

it('offers the sheet on a profile, and a run on a log', async () => {
  const text = bench.replace('  bands {', '  expect all-cores holds >= 4.0 GHz\n  bands {')
  const editor = await openEditor({ 'bench.detent': text, 'evening.csv': 't,clock\n0,4.5\n' }, 'bench.detent')
  const { page } = editor
  await ready(editor)
  await page
    .locator('.explorer-folders-view .monaco-list-row')
    .filter({ hasText: 'evening.csv' })
    .click({ button: 'right' })
  await menuEntry(editor, 'Add Run from Log').waitFor()
  await screenshot(editor, 'explorer-menu')
  await page.keyboard.press('Escape')
  await clickText(editor, 'cores 8')
  await page.locator('.editor-actions .action-label[aria-label^="Entry Sheet"]').click()
  await page.locator('.quick-input-list .monaco-list-row').filter({ hasText: 'Every value' }).click()
  await inPreview(editor, 'Before you begin')
})

it('leads from the count of expectations to the one that does not hold', async () => {
  const expecting = '  expect all-cores holds >= 4.0 GHz\n  expect all-cores die <= 60 °C\n  bands {'
  const [before, profile] = bench.replace('  bands {', expecting).split('\nprofile ') as [string, string]
  const onTop = `detent 1\n\nprofile ${profile}${before.replace('detent 1\n', '')}`
  const editor = await openEditor({ 'lens.detent': onTop }, 'lens.detent')
  const { page } = editor
  await ready(editor)
  await page.locator('.codelens-decoration a').filter({ hasText: '1 of 2 expectations hold' }).click()
  const line = onTop.split('\n').findIndex(one => one.includes('die <= 60')) + 1
  await page
    .locator('[id="status.editor.selection"]')
    .filter({ hasText: `Ln ${line},` })
    .waitFor()
  await screenshot(editor, 'lens-goes-to')
})
