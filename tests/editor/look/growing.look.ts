/** A log that is being written is followed beside the text, from its first row to its settled end. */
import { readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { expect, it } from 'vitest'
import { benchFolder, openBench, panel } from './beside-panel.ts'
import { type Editor, runCommand, screenshot } from './editor.ts'

/** How many measured die temperatures stand in the picture. */
async function dots(editor: Editor): Promise<number> {
  const paths = await panel(editor)
    .locator('path.dots')
    .evaluateAll(all => all.map(one => one.getAttribute('d') ?? ''))
  return paths.reduce((sum, d) => sum + (d.match(/h0/g)?.length ?? 0), 0)
}

it('follows a log from its first row to its settled end', async () => {
  const folder = benchFolder()
  const log = join(folder, 'logs', 'light-compile.csv')
  const rows = readFileSync(log, 'utf8').split(/\r?\n/)
  // The header and so many rows; a row every two seconds, the load from the 30th on.
  const grow = (count: number) => writeFileSync(log, `${rows.slice(0, 1 + count).join('\n')}\n`)
  grow(1)
  const editor = await openBench('runs.detent', folder)
  const line =
    readFileSync(join(folder, 'runs.detent'), 'utf8')
      .split('\n')
      .findIndex(one => one.startsWith('run light-compile')) + 1
  await editor.page.keyboard.press('Control+G')
  await editor.page.locator('.quick-input-widget input.input').first().fill(`:${line}`)
  await editor.page.keyboard.press('Enter')
  await runCommand(editor, 'Detent: Show Charts Beside')
  const note = panel(editor).locator('#note')
  await expect.poll(() => note.textContent({ timeout: 20_000 })).toBe('The log does not have enough rows yet.')
  await screenshot(editor, 'growing-1-row')

  let before = 0
  for (const count of [60, 126, 250, rows.length - 1]) {
    grow(count)
    await expect.poll(() => dots(editor), { timeout: 30_000 }).toBeGreaterThan(before)
    before = await dots(editor)
    if (count === 126) {
      await expect.poll(() => note.textContent()).toMatch(/It settles at \d+ ± \d+ °C in about \d+ (?:min|s)\.$/)
      // Heard at once, since nothing was heard in the last half minute but the first note.
      expect(await panel(editor).locator('#aloud').getAttribute('role')).toBe('status')
    }
    await screenshot(editor, `growing-${count}-rows`)
  }
  await expect.poll(() => panel(editor).locator('#picture text').allTextContents()).toContain('these rows count')
  expect((await panel(editor).locator('#picture text').allTextContents()).join(' ')).toMatch(
    /Die measured (?:67\.9|68\.0) °C, predicted/,
  )
}, 240_000)
