/** A profile for a part with cores of two kinds, written from nothing as a person would: lists, hovers, findings, sheet. */
import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { expect, it } from 'vitest'
import { root } from '../../../client/scripts/editor/cache.ts'
import {
  clickText,
  type Editor,
  hoverText,
  inPreview,
  offeredFix,
  openEditor,
  save,
  screenshot,
  startCommand,
  typeText,
  visibleText,
} from './editor.ts'

const bench = readFileSync(join(root, 'grammar', 'examples', 'two-kinds', 'bench.detent'), 'utf8')

/** Types the beginning of a word, and takes the whole one from the list. */
async function take(editor: Editor, typed: string, label: string): Promise<void> {
  const { page } = editor
  await typeText(editor, typed)
  const list = page.locator('.suggest-widget.visible')
  if (!(await list.isVisible())) await page.keyboard.press('Control+Space')
  await list.locator('.monaco-list-row').filter({ hasText: label }).first().waitFor()
  const chosen = list.locator('.monaco-list-row.focused .label-name')
  for (let row = 0; row < 20; row++) {
    // The editor marks what is chosen a moment after it shows it.
    await chosen.waitFor()
    if ((await chosen.textContent())?.startsWith(label)) break
    await page.keyboard.press('ArrowDown')
  }
  expect(await chosen.textContent()).toContain(label)
  await page.keyboard.press('Tab')
}

/** Opens a block; the editor writes its end where it has had time to look at the line. */
async function openBlock(editor: Editor, head: string): Promise<void> {
  const ends = async (): Promise<number> => (await visibleText(editor)).split('}').length
  const before = await ends()
  await typeText(editor, head)
  await editor.page.waitForTimeout(500)
  await typeText(editor, ' {')
  await expect.poll(ends).toBe(before + 1)
  await editor.page.keyboard.press('Enter')
}

/** Leaves the block whose end the editor has written, for a new line behind it. */
async function leaveBlock({ page }: Editor): Promise<void> {
  await page.keyboard.press('ArrowDown')
  await page.keyboard.press('End')
}

it('is typed with the lists, judged group by group, and gives its sheet', { timeout: 240_000 }, async () => {
  const editor = await openEditor(
    { 'bench.detent': bench, 'mine.detent': 'detent 1\nuse "bench.detent"\n' },
    'mine.detent',
  )
  const { page } = editor
  const status = page.locator('[id="detent.detent.detent.status"]')
  await status.filter({ hasText: /ready|finding/ }).waitFor({ timeout: 40_000 })
  await clickText(editor, 'use "bench.detent"')
  await page.keyboard.press('Control+End')
  await openBlock(editor, '\nprofile mine')
  const named = [
    ['part', 'kite-m2'],
    ['cooler', 'twin-fan'],
    ['room', 'attic'],
    ['board', 'grey-board'],
  ] as const
  for (const [word, name] of named) {
    await take(editor, word.slice(0, 2), word)
    await take(editor, name.slice(0, 2), name)
    await page.keyboard.press('Enter')
  }
  await take(editor, 'vo', 'voltage')
  await take(editor, 'co', 'core')
  await screenshot(editor, 'groups-voltage')
  await typeText(editor, '50')
  await page.keyboard.press('Escape')
  await leaveBlock(editor)
  await typeText(editor, '\nsteps ')
  await take(editor, 'br', 'broad')
  await screenshot(editor, 'groups-steps')
  await openBlock(editor, '')
  await take(editor, '', '1 to 6 cores')
  await screenshot(editor, 'groups-row')
  await page.keyboard.press('Escape')
  expect(await visibleText(editor)).toMatch(/1 to 6 cores +\d+x/)
  await leaveBlock(editor)
  await typeText(editor, '\nsteps ')
  await take(editor, 'sm', 'small')
  await openBlock(editor, '')
  await typeText(editor, '1 to 6 cores 36x')
  await leaveBlock(editor)
  await typeText(editor, '\nexpect ')
  await take(editor, 'bu', 'build')
  await take(editor, ' ho', 'holds')
  await take(editor, ' sm', 'small')
  await typeText(editor, ' >= 3.5 GHz')
  await screenshot(editor, 'groups-typed')
  expect(await visibleText(editor)).toMatch(/expect build holds small >= 3\.5 GHz/)

  // Two of the small cores have no ratio yet.
  await status.filter({ hasText: /error|finding/ }).waitFor()
  const gap = await hoverText(editor, '1 to 6 cores 36x')
  await screenshot(editor, 'groups-gap')
  expect(gap).toContain('steps-gap')
  expect(gap).toContain('small')
  expect(gap).toMatch(/1 to 6 cores of group small at 36x.*\d\.\d\d GHz/s)
  await page.mouse.move(0, 0)

  await clickText(editor, '1 to 6 cores 36x')
  await (await offeredFix(editor, 'Let 36x hold for')).click()
  await expect.poll(() => visibleText(editor)).toMatch(/1 to 8 cores +36x/)
  await save(editor)
  await status.filter({ hasText: /ready|finding/ }).waitFor()
  expect(await hoverText(editor, 'expect build holds small')).toMatch(/\d\.\d\d GHz/)
  await screenshot(editor, 'groups-expectation')
  expect(await visibleText(editor)).toMatch(/^}$/m)
  await page.mouse.move(0, 0)

  // The sheet in the words of the firmware, a table for each kind.
  await startCommand(editor, 'Detent: Entry Sheet')
  await page.locator('.quick-input-list .monaco-list-row.focused').filter({ hasText: 'Every value' }).waitFor()
  await page.keyboard.press('Enter')
  await inPreview(editor, 'Fast cores, by how many are busy')
  await inPreview(editor, 'Slow cores, by how many are busy')
  await screenshot(editor, 'groups-sheet')
})
