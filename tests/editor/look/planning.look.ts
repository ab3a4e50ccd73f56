/** What an expectation would take, and steps and bands proposed: seen before they are made. */
import { expect, it } from 'vitest'
import { bench } from '../suite/bench.ts'
import {
  clickText,
  type Editor,
  message,
  offeredFix,
  openEditor,
  screenshot,
  visibleText,
  waitForSquiggle,
} from './editor.ts'

const far = 'expect all-cores margin >= 900 W'
const near = 'expect all-cores holds >= 4.75 GHz'

/** The profile first, so that it is in view. */
function text(): string {
  const [before = '', profile = ''] = bench.split('\nprofile ')
  const own = profile.replace(/\}\n$/, `  voltage { core needs + 30 mV }\n  ${near}\n  ${far}\n}\n`)
  return `detent 1\n\nprofile ${own}${before.replace('detent 1\n', '')}`
}

const preview = ({ page }: Editor) => page.locator('.part.panel').filter({ hasText: 'Refactor Preview' })

async function discard(editor: Editor): Promise<void> {
  await editor.page.locator('.part.panel .monaco-button').filter({ hasText: 'Discard' }).click()
  await preview(editor).locator('.monaco-list-row').first().waitFor({ state: 'detached' })
}

it('are previewed before they are made', { timeout: 180_000 }, async () => {
  const editor = await openEditor({ 'plan.detent': text() }, 'plan.detent')
  const { page } = editor
  await waitForSquiggle(editor, 'error')

  await clickText(editor, near)
  await (await offeredFix(editor, 'Find the smallest change with which')).click()
  await preview(editor).locator('.monaco-list-row').first().waitFor()
  await screenshot(editor, 'reach-preview')
  expect(await visibleText(editor)).toContain('3 to 8 cores   48x')
  await discard(editor)
  await clickText(editor, near)
  await offeredFix(editor, 'then, asks')
  await screenshot(editor, 'reach-answers')
  expect(
    await page.locator('.action-widget .monaco-list-row').filter({ hasText: 'then, asks' }).count(),
  ).toBeGreaterThan(1)
  await page.keyboard.press('Escape')

  // Where nothing does it, that is said, and nothing is changed.
  await clickText(editor, far)
  await (await offeredFix(editor, 'Find the smallest change with which')).click()
  await (await message(editor, 'Nothing alone does it')).first().waitFor()
  await screenshot(editor, 'reach-nothing')
  await page.keyboard.press('Escape')

  await clickText(editor, 'profile first')
  await (await offeredFix(editor, 'Propose steps and bands for first')).click()
  await preview(editor).locator('.monaco-list-row').first().waitFor()
  // What needs a look is not ticked: a person chooses what is applied.
  await preview(editor).locator('.monaco-list-row .edit-checkbox').first().click()
  await screenshot(editor, 'propose-preview')
  await page.locator('.part.panel .monaco-button').filter({ hasText: 'Apply' }).click()
  await expect.poll(() => visibleText(editor)).not.toContain('3 to 8 cores   48x')
  await screenshot(editor, 'propose-applied')
})
