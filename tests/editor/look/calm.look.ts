/** Nothing turns red while a word is typed, and the status item says that findings wait; what is wrong shows at a pause. */
import { expect, it } from 'vitest'
import { bench } from '../suite/bench.ts'
import { clickText, type Editor, openEditor, screenshot } from './editor.ts'

/** What the page has shown since it was watched: red lines, and the texts of the status item. */
interface Shown {
  readonly red: boolean
  readonly states: readonly string[]
}

const status = '[id="detent.detent.detent.status"]'

/** Notes each change of the page from now on, however short. */
async function watch({ page }: Editor): Promise<() => Promise<Shown>> {
  await page.evaluate(`
    window.shown = { red: false, states: [] }
    const look = () => {
      window.shown.red ||= document.querySelector('.editor-instance .squiggly-error') !== null
      const text = document.querySelector(${JSON.stringify(status)})?.textContent.trim() ?? ''
      if (window.shown.states.at(-1) !== text) window.shown.states.push(text)
    }
    new MutationObserver(look).observe(document.body, { subtree: true, childList: true, attributes: true, characterData: true })
    look()`)
  return () => page.evaluate<Shown>('window.shown')
}

/** Letter by letter at the speed of a person, so that the editor asks for findings in between. */
async function type({ page }: Editor, text: string): Promise<void> {
  for (const letter of text) {
    await page.keyboard.type(letter)
    await page.waitForTimeout(180)
  }
}

it('stays calm while a line is typed, and shows what is wrong at a pause', async () => {
  const editor = await openEditor({ 'calm.detent': bench }, 'calm.detent')
  const { page } = editor
  await page.locator(status).filter({ hasText: 'Detent: ready' }).waitFor({ timeout: 40_000 })
  await clickText(editor, '  cores 8')
  await page.keyboard.press('End')
  const shown = await watch(editor)
  await page.keyboard.press('Enter')
  await type(editor, 'leakage-doubling')
  await screenshot(editor, 'calm-typing')
  await type(editor, ' 28 K')
  await page.keyboard.press('ArrowDown')
  await page.locator(status).filter({ hasText: 'Detent: ready' }).waitFor()
  const { red, states } = await shown()
  expect(red).toBe(false)
  expect(new Set(states)).toEqual(new Set(['Detent: ready', 'Detent: typing']))
  // A line that cannot become right is shown once the hand rests.
  await page.keyboard.press('ArrowUp')
  await page.keyboard.press('End')
  await page.keyboard.press('Enter')
  await type(editor, 'die-heat twelve')
  await page.locator('.editor-instance .squiggly-error').first().waitFor({ state: 'attached' })
  await page.locator(status).filter({ hasText: '1 finding' }).waitFor()
  await screenshot(editor, 'calm-paused')
})
