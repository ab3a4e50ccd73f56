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
  runCommand,
  save,
  screenshot,
  startCommand,
  typeText,
  visibleText,
} from './editor.ts'

/**
 * The newcomer's page, `grammar/reference/first-steps.md`, followed step by step in a new, empty folder. What is pressed,
 * read and typed here is what the page says.
 */

const page = readFileSync(join(root, 'grammar', 'reference', 'first-steps.md'), 'utf8')

/** Words of the page, by which it is held to what is done here. */
function said(words: string): string {
  expect(page).toContain(words)
  return words
}

/** Scrolls to a line. */
async function goTo({ page: window }: Editor, line: number): Promise<void> {
  await window.keyboard.press('Control+G')
  await window.locator('.quick-input-widget input.input').first().fill(`:${line}`)
  await window.keyboard.press('Enter')
  await window.locator('.quick-input-widget').waitFor({ state: 'hidden' })
}

async function saveAs(editor: Editor, name: string): Promise<void> {
  const { page: window } = editor
  await window.keyboard.press('Control+S')
  const box = window.locator('.quick-input-widget input.input').first()
  // The editor fills in a name of its own first.
  await expect.poll(() => box.inputValue()).toMatch(/\.detent$/)
  await box.fill(join(editor.folder, name))
  // While it looks through the folder the box does not hear the key.
  const saved = window.locator(`.tab.active[data-resource-name="${name}"]`)
  await expect
    .poll(async () => {
      await box.press('Enter', { timeout: 1000 }).catch(() => undefined)
      return saved.isVisible()
    })
    .toBe(true)
}

/** Takes a quick fix at the cursor, by its title. */
async function quickFix(editor: Editor, title: string): Promise<void> {
  const row = await offeredFix(editor, title)
  await row.click()
  await row.waitFor({ state: 'hidden' })
}

it('leads from the extension to a first own profile', { timeout: 150_000 }, async () => {
  const editor = await openEditor({})
  const { page: window } = editor
  const shows = (words: string): Promise<void> => expect.poll(() => visibleText(editor)).toContain(words)
  const findings = (text: string): Promise<void> =>
    window.locator('[id="detent.detent.detent.status"]').filter({ hasText: text }).waitFor()

  // 1. Open the example
  await runCommand(editor, said('Detent: Open an Example'))
  await shows('part my-sample')
  await saveAs(editor, 'mine.detent')
  await findings('1 finding')

  // 2. Write down what you have seen
  await clickText(editor, '4.40 GHz')
  await window.keyboard.press('End')
  await typeText(editor, `\n${said('4.60 GHz  1.12 V  127 W  64 °C   air 22 °C')}`)
  await window.keyboard.press('Escape')
  await findings('1 finding')
  const point = await hoverText(editor, '4.60 GHz')
  expect(point).toContain('the model agrees with it within its uncertainty')
  expect(point).toMatch(/127\.\d W ± [\d.]+ W\s*\d+ W ± [\d.]+ W/)
  await screenshot(editor, 'first-steps-known')
  await window.keyboard.press('Escape')

  // 3. Read what it will do
  await goTo(editor, 36)
  const hover = await hoverText(editor, said('3 to 8 cores   48x'))
  expect(hover).toMatch(/all-cores \(8 cores\)/)
  expect(hover).toMatch(/With usual values .*95 % interval/)
  expect(hover).toContain('How the clock falls')
  expect(hover).toContain('Show workings')
  await screenshot(editor, 'first-steps-hover')
  await window.keyboard.press('Escape')
  expect(await hoverText(editor, '3 to 8 cores   above')).toMatch(/Clock alternates/)
  await window.keyboard.press('Escape')

  // 4. Make the part yours
  await goTo(editor, 3)
  await clickText(editor, `part ${said('my-sample')}`)
  await window.keyboard.press('F2')
  await window.locator('.rename-box input').fill(said('cellar-six'))
  await window.keyboard.press('Enter')
  await shows('part cellar-six')
  await clickText(editor, 'cores 8')
  await window.keyboard.press('Backspace')
  await typeText(editor, '6')
  said('`cores 6`')
  await goTo(editor, 36)
  await findings('4 findings')
  await screenshot(editor, 'first-steps-findings')
  const ending = said('Let this row hold for 3 to 6 cores')
  await clickText(editor, '3 to 8 cores   48x')
  await quickFix(editor, ending)
  await shows('3 to 6 cores   48x')
  await clickText(editor, '3 to 8 cores   above')
  await quickFix(editor, ending)
  await shows('3 to 6 cores   above')
  await clickText(editor, 'part cellar-six')
  await quickFix(editor, said('Let all-cores have 6 cores').replace('all-cores', '`all-cores`'))
  await findings('ready')

  // 5. Let it find a ratio
  await clickText(editor, said('3 to 6 cores'))
  await window.keyboard.press('Shift+End')
  await typeText(editor, ' ')
  const offered = window.locator('.suggest-widget.visible .monaco-list-row').filter({ hasText: /\d+x/ })
  await offered.first().waitFor()
  expect(await offered.first().textContent()).toContain('bands act')
  said('bands act')
  await screenshot(editor, 'first-steps-ratio')
  await window.keyboard.press('Tab')
  await expect.poll(() => visibleText(editor)).toMatch(/3 to 6 cores \d+x/)

  // 6. Say what you want
  await clickText(editor, said('expect two-cores holds >= 5.0 GHz'))
  await typeText(editor, `\n${said('expect all-cores holds >= 5.4 GHz')}`)
  await findings('2 findings')
  await window.locator('.codelens-decoration').filter({ hasText: '2 of 3 expectations hold' }).waitFor()
  await window.keyboard.press('Escape')
  await screenshot(editor, 'first-steps-expectation')
  await quickFix(editor, said('Expect …').replace('…', ''))
  await window.locator('.codelens-decoration').filter({ hasText: '3 of 3 expectations hold' }).waitFor()
  await expect.poll(() => window.locator('.codicon-testing-passed-icon.testing-run-glyph').count()).toBe(4)
  await save(editor)

  // 7. A second profile
  await window.keyboard.press('Control+End')
  for (const line of ['profile quiet based-on first {', '  limits { die 60 °C }', '}']) said(line)
  // As a person would who types it: the editor closes the braces.
  await typeText(editor, '\nprofile quiet based-on first {\nlimits { die 60 °C }')
  await window.keyboard.press('Escape')
  await shows('limits { die 60 °C }')
  await save(editor)
  await window
    .locator('.codelens-decoration a')
    .filter({ hasText: said('Show the resolved profile') })
    .click()
  await window.locator('.tab').filter({ hasText: 'quiet (resolved).detent' }).waitFor()
  await screenshot(editor, 'first-steps-second')

  // 8. At the bench
  await startCommand(editor, said('Detent: Entry Sheet'))
  await window.locator('.quick-input-list .monaco-list-row').filter({ hasText: 'Every value' }).click()
  await window.locator('.tab').filter({ hasText: 'Entry sheet' }).waitFor()
  await inPreview(editor, 'Before you begin')
  await screenshot(editor, 'first-steps-sheet')
})
