/** What is kept of the panel beside the text: its pictures as files, the picture that was pinned, all of it after a reload. */
import { existsSync, readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { expect, it } from 'vitest'
import { detent } from '../../cli/helpers.ts'
import { benchFolder, openBench, panel, shows } from './beside-panel.ts'
import { clickText, type Editor, openFolder, screenshot } from './editor.ts'

const map = 'winter: operating map for full activity'

/** Saves the picture where the editor proposes to, and gives the file. */
async function saved(editor: Editor, as: 'svg' | 'png' | 'csv'): Promise<Buffer> {
  const { page, folder } = editor
  await panel(editor).locator(`#${as}`).click()
  const box = page.locator('.quick-input-widget input.input').first()
  await expect.poll(() => box.inputValue()).toContain(`.${as}`)
  await screenshot(editor, `beside-save-${as}`)
  await page.keyboard.press('Enter')
  const found = (): string | undefined => readdirSync(folder).find(name => name.endsWith(`.${as}`))
  await expect.poll(found).toBeDefined()
  const path = join(folder, found() ?? '')
  await expect.poll(() => existsSync(path) && readFileSync(path).length).toBeGreaterThan(0)
  return readFileSync(path)
}

it('opens by the line above a profile, is saved, pinned, and as it was after a reload', async () => {
  const editor = await openBench('plate-stack.detent', benchFolder())
  const { page, folder } = editor
  await page.locator('.codelens-decoration a', { hasText: 'Charts' }).first().click()
  await shows(editor, map)

  // Three kinds of file; the figures are those of the command, digit by digit.
  const csv = (await saved(editor, 'csv')).toString('utf8')
  const { out } = await detent(folder, ['draw', 'map', 'winter', '--to', 'own.csv'])
  expect(csv, out).toBe(readFileSync(join(folder, 'own.csv'), 'utf8'))
  const svg = (await saved(editor, 'svg')).toString('utf8')
  expect(svg).toMatch(/^<svg /)
  expect(svg).toContain('operating map for full activity')
  const png = await saved(editor, 'png')
  expect(png.subarray(0, 8).toString('latin1')).toBe('\u0089PNG\r\n\u001a\n')
  // Twice as large as the picture, and something is drawn on it.
  expect(png.readUInt32BE(16)).toBe(2 * Number(/width="(\d+)"/.exec(svg)?.[1]))
  expect(png.length).toBeGreaterThan(10_000)

  // Pinned it stays wherever the cursor goes: the cooling chart's line is left for the map.
  const pin = panel(editor).locator('#pin')
  await pin.click()
  await clickText(editor, 'drive dew + 2 K')
  await panel(editor).locator('#load').selectOption('render')
  await shows(editor, 'winter: operating map for render')
  await panel(editor).locator('summary').click()
  await panel(editor).locator('#airC-on').check()
  const note = panel(editor).locator('#note')
  await expect.poll(() => note.textContent()).toContain('What if')
  // An editor in a browser keeps what its panels have every five seconds, whenever it has nothing else to do.
  await page.waitForTimeout(12_000)

  // Opened as it was left, with no file asked for.
  await openFolder(folder)
  const again = panel(editor).locator('body[data-shown^="winter: operating map for render"]')
  await again.waitFor({ timeout: 60_000 })
  expect(await pin.getAttribute('aria-pressed')).toBe('true')
  expect(await panel(editor).locator('#airC-on').isChecked()).toBe(true)
  await expect.poll(() => note.textContent()).toContain('What if')
  await screenshot(editor, 'beside-reloaded')
  // No longer pinned, it follows the cursor again.
  await pin.click()
  await clickText(editor, 'drive dew + 2 K')
  await shows(editor, 'winter: plate-stack under render')
}, 240_000)
