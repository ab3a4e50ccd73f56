import { join } from 'node:path'
import { expect, it, vi } from 'vitest'
import { root } from '../../../client/scripts/editor/cache.ts'
import {
  clickText,
  type Editor,
  hoverText,
  inPreview,
  offeredFix,
  openEditor,
  runCommand,
  screenshot,
  startCommand,
  visibleText,
  waitForSquiggle,
} from './editor.ts'

/**
 * The pictures of the README, the listing page and the walkthrough, on the example bench. After a change that shows in them:
 *
 *     npm run test:editor -- --look readme
 *     node client/scripts/screenshot.ts
 */

// Pictures take the time of a busy machine.
vi.setConfig({ testTimeout: 120_000 })

const bench = join(root, 'grammar', 'examples', 'bench')

/** The example bench in a small window with nothing beside the text. */
async function pictured(file: string, width: number, take: (editor: Editor) => Promise<void>): Promise<void> {
  const quiet = { 'editor.minimap.enabled': false, 'breadcrumbs.enabled': false }
  const editor = await openEditor({ copyOf: bench, settings: quiet }, file)
  // All files of the bench are read once their findings are counted.
  await editor.page.locator('[id="detent.detent.detent.status"]').filter({ hasText: 'finding' }).waitFor()
  const { page } = editor
  await page.setViewportSize({ width, height: 640 })
  await runCommand(editor, 'View: Toggle Primary Side Bar Visibility')
  await take(editor)
}

/** The pointer where it makes nothing appear, and what it has made appear before gone. */
async function pointAside({ page }: Editor): Promise<void> {
  // On the empty middle of the status bar: over the preview the page behind it hears nothing.
  await page.mouse.move(700, 630)
  await page.locator('.workbench-hover').waitFor({ state: 'hidden' })
}

/** The picture of the editors' part of the window. */
async function picture(editor: Editor, name: string): Promise<void> {
  const box = await editor.page.locator('.part.editor').boundingBox()
  await screenshot(editor, name, box ?? undefined)
}

it('shows the example bench as the README says', () =>
  pictured('heavy-work.detent', 900, async editor => {
    await waitForSquiggle(editor, 'warning')
    await editor.page.locator('.codelens-decoration').filter({ hasText: '4 of 4 expectations hold' }).waitFor()
    const shown = await hoverText(editor, '9 to 12 cores')
    expect(shown).toMatch(/render.*\d\.\d\d GHz/)
    await picture(editor, 'readme')
  }))

it('shows a finding with its fixes', () =>
  pictured('heavy-work.detent', 900, async editor => {
    const { page } = editor
    await waitForSquiggle(editor, 'warning')
    await clickText(editor, 'core needs + 50')
    for (let digit = 0; digit < 2; digit++) await page.keyboard.press('Backspace')
    await page.keyboard.type('10', { delay: 60 })
    await page.keyboard.press('Escape')
    await waitForSquiggle(editor, 'error')
    const fix = await offeredFix(editor, 'Allow voltage-short here')
    expect(await fix.textContent()).toContain('with a reason')
    await picture(editor, 'readme-findings')
    await page.keyboard.press('Escape')
  }))

it('shows an entry sheet beside its profile', () =>
  pictured('light-work.detent', 1280, async editor => {
    const { page } = editor
    await clickText(editor, 'profile light-work')
    await startCommand(editor, 'Detent: Entry Sheet')
    await page.locator('.quick-input-list .monaco-list-row').filter({ hasText: 'Every value' }).click()
    await inPreview(editor, 'Before you begin')
    await pointAside(editor)
    await picture(editor, 'readme-sheet')
  }))

it('shows a run with its log', () =>
  pictured('runs.detent', 900, async editor => {
    await editor.page.locator('.editor-instance .view-line').filter({ hasText: 'heavy-render.csv' }).waitFor()
    const shown = await hoverText(editor, 'run heavy-render')
    expect(shown).toContain('Measured')
    await picture(editor, 'readme-run')
  }))

it('shows a fit before it is written', () =>
  pictured('bench.detent', 1280, async editor => {
    await clickText(editor, 'part sample-b7')
    await runCommand(editor, 'Detent: Fit Part to Runs')
    await inPreview(editor, 'Fit of part sample-b7')
    await pointAside(editor)
    await picture(editor, 'readme-fit')
    expect(await visibleText(editor)).toContain('part sample-b7')
  }))

it('shows two profiles side by side', () =>
  pictured('light-work.detent', 1280, async editor => {
    const { page } = editor
    await clickText(editor, 'profile light-work')
    await startCommand(editor, 'Detent: Compare Profiles')
    const other = page.locator('.quick-input-list .monaco-list-row').filter({ hasText: 'heavy-work' }).first()
    await other.waitFor()
    await other.click()
    await page.keyboard.press('Enter')
    await inPreview(editor, 'heavy-work')
    await pointAside(editor)
    await picture(editor, 'readme-compare')
  }))
