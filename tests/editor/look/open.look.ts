import { statSync } from 'node:fs'
import { expect, it } from 'vitest'
import { openEditor, screenshot, visibleText } from './editor.ts'

it('opens a .detent file and shows its text', async () => {
  const editor = await openEditor({ 'bench.detent': 'detent 1\n\nroom bench {\n  air 21 °C\n}\n' }, 'bench.detent')
  expect(await visibleText(editor)).toContain('air 21 °C')
  expect(await editor.page.locator('.statusbar-item', { hasText: 'Detent' }).count()).toBeGreaterThan(0)
  expect(statSync(await screenshot(editor, 'open')).size).toBeGreaterThan(10_000)
})
