/** The panel beside the text, for the screen tests that look at it. */
import { cpSync, mkdirSync, mkdtempSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import type { FrameLocator } from 'playwright-core'
import { root } from '../../../client/scripts/editor/cache.ts'
import { type Editor, openEditor, openFolder } from './editor.ts'

const bench = join(root, 'grammar', 'examples', 'bench')

/** A copy of the example bench in a folder of its own. */
export function benchFolder(settings: Readonly<Record<string, unknown>> = {}): string {
  const output = join(root, 'test-output')
  mkdirSync(output, { recursive: true })
  const folder = mkdtempSync(join(output, 'workspace-'))
  cpSync(bench, folder, { recursive: true })
  if (Object.keys(settings).length > 0) {
    mkdirSync(join(folder, '.vscode'), { recursive: true })
    writeFileSync(join(folder, '.vscode', 'settings.json'), JSON.stringify(settings))
  }
  return folder
}

/**
 * Opens a file of the example bench and waits until the server has looked through it.
 * @param folder a copy of the bench that is there already, for a window of its own
 */
export async function openBench(file: string, folder?: string): Promise<Editor> {
  const editor = await (folder === undefined ? openEditor({ copyOf: bench }, file) : openFolder(folder, file))
  await editor.page
    .locator('[id="detent.detent.detent.status"]')
    // The example bench has some; ready is what the window was before.
    .filter({ hasText: 'finding' })
    .waitFor({ timeout: 40_000 })
  return editor
}

/** What the panel that was opened last has in it. */
export const panel = ({ page }: Editor): FrameLocator =>
  page.frameLocator('iframe.webview.ready').last().frameLocator('#active-frame')

/** Waits for the picture whose title begins so. */
export const shows = (editor: Editor, title: string): Promise<void> =>
  panel(editor).locator(`body[data-shown^="${title}"]`).waitFor({ timeout: 20_000 })
