/** The panel beside the text: a map beside what it was at a commit, and conditions that are written once they were shown. */
import { readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { expect, it } from 'vitest'
import { commitFiles, startRepository } from '../../harness/repository.ts'
import { benchFolder, openBench, panel, shows } from './beside-panel.ts'
import { clickText, openFile, runCommand, screenshot, visibleText } from './editor.ts'

const map = 'winter: operating map for full activity'

it('draws a map beside what it was at a commit that is picked from a list, and keeps it as the text is typed', async () => {
  const folder = benchFolder()
  startRepository(folder)
  const then = commitFiles(folder, {}).slice(0, 8)
  const path = join(folder, 'plate-stack.detent')
  writeFileSync(path, readFileSync(path, 'utf8').replace('above 70 °C', 'above 62 °C'))
  const editor = await openBench('plate-stack.detent', folder)
  const { page } = editor
  await clickText(editor, '3 to 12 cores  above 62 °C')
  await runCommand(editor, 'Detent: Show Charts Beside')
  await shows(editor, map)
  const against = panel(editor).locator('#against')
  await against.selectOption({ label: 'at a commit …' })
  const row = page.locator('.quick-input-list .monaco-list-row').filter({ hasText: then })
  await row.waitFor()
  await screenshot(editor, 'beside-commits')
  await row.click()
  await panel(editor).locator(`text=dashed: winter@${then}`).waitFor()
  expect(await against.locator('option:checked').textContent()).toBe(`winter@${then}`)
  await screenshot(editor, 'beside-commit')
  // The same row as it is typed on: what was read of the commit stays.
  await page.keyboard.press('End')
  await page.keyboard.type(' ')
  await panel(editor).locator(`text=dashed: winter@${then}`).waitFor()
  // The picture of another profile of the file is beside its own.
  await page.keyboard.press('Control+G')
  await page.locator('.quick-input-widget input.input').first().fill(':48')
  await page.keyboard.press('Enter')
  await shows(editor, 'summer: operating map')
  await panel(editor).locator(`text=dashed: summer@${then}`).waitFor()
  await screenshot(editor, 'beside-commit-summer')
}, 180_000)

it('writes the conditions of the sliders into the files once a person has seen what is written', async () => {
  const editor = await openBench('plate-stack.detent')
  const { page } = editor
  await clickText(editor, 'profile winter')
  await runCommand(editor, 'Detent: Show Charts Beside')
  await shows(editor, map)
  await panel(editor).locator('summary').click()
  const button = panel(editor).locator('#write')
  expect(await button.isDisabled()).toBe(true)
  await panel(editor).locator('#airC').fill('31')
  await panel(editor).locator('#fanPct').fill('45')
  await shows(editor, `${map} (what if)`)
  await screenshot(editor, 'beside-sliders')
  await button.click()
  const preview = page.locator('.part.panel').filter({ hasText: 'Refactor Preview' })
  const file = (name: string) => preview.locator('.monaco-list-row').filter({ hasText: name }).first()
  await file('bench.detent').waitFor()
  await file('plate-stack.detent').waitFor()
  await screenshot(editor, 'beside-write-preview')
  // Shown, and written only where the person says so.
  expect(await page.locator('.tab.dirty').count()).toBe(0)
  for (const name of ['bench.detent', 'plate-stack.detent']) await file(name).locator('.edit-checkbox').click()
  await page.locator('.part.panel .monaco-button').filter({ hasText: 'Apply' }).click()
  await preview.waitFor({ state: 'hidden' })
  await expect.poll(() => visibleText(editor)).toMatch(/fan \{ 0 °C +45 % \}/)
  await screenshot(editor, 'beside-written')
  await openFile(editor, 'bench.detent')
  await page.keyboard.press('Control+F')
  await page.locator('.find-widget .find-part textarea').fill('room garage-winter')
  await page.keyboard.press('Escape')
  // Beside the profile or in its place: the file opens where the focus is.
  const lines = page
    .locator('.editor-group-container')
    .filter({ has: page.locator('.tab.active').filter({ hasText: 'bench.detent' }) })
    .locator('.view-line')
  await lines.filter({ hasText: /room\sgarage-winter/ }).waitFor()
  await lines.filter({ hasText: /air\s31\s°C/ }).waitFor()
}, 180_000)
