import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { expect, it } from 'vitest'
import { root } from '../../../client/scripts/editor/cache.ts'
import { hoverText, openEditor, runCommand, screenshot, waitForSquiggle } from './editor.ts'

/**
 * The picture in the README: the example bench, the pointer on a step, a finding below. After a change that shows in it:
 *
 *     npm run test:editor -- --look readme
 *     node client/scripts/screenshot.ts
 */
it('shows the example bench as the README says', async () => {
  const folder = join(root, 'grammar', 'examples', 'bench')
  const names = readdirSync(folder).filter(name => name.endsWith('.detent'))
  const files = Object.fromEntries(names.map(name => [name, readFileSync(join(folder, name), 'utf8')]))
  const quiet = JSON.stringify({ 'editor.minimap.enabled': false, 'breadcrumbs.enabled': false })
  const editor = await openEditor({ ...files, '.vscode/settings.json': quiet }, 'heavy-work.detent')
  const { page } = editor
  const before = page.viewportSize() ?? { width: 1280, height: 800 }
  await page.setViewportSize({ width: 900, height: 640 })
  try {
    await runCommand(editor, 'View: Toggle Primary Side Bar Visibility')
    await waitForSquiggle(editor, 'warning')
    await page.locator('.codelens-decoration').filter({ hasText: '4 of 4 expectations hold' }).waitFor()
    const shown = await hoverText(editor, '9 to 12 cores')
    expect(shown).toMatch(/render.*\d\.\d\d GHz/)
    const box = await page.locator('.part.editor').boundingBox()
    await screenshot(editor, 'readme', box ?? undefined)
  } finally {
    await page.setViewportSize(before)
  }
})
