import { readFileSync, statSync } from 'node:fs'
import { join } from 'node:path'
import { expect, it } from 'vitest'
import {
  clickText,
  hoverText,
  openEditor,
  openFile,
  runCommand,
  save,
  screenshot,
  typeText,
  visibleText,
  waitForSquiggle,
} from './editor.ts'

const files = {
  'bench.detent': 'detent 1\n\nroom bench {\n  air 21 °C\n}\n',
  'broken.json': '{ "value": }\n',
}

it('opens a .detent file, takes what is typed, and saves it', async () => {
  const editor = await openEditor(files, 'bench.detent')
  await expect.poll(() => visibleText(editor)).toContain('air 21 °C')
  await clickText(editor, 'air 21 °C')
  await typeText(editor, '  # typed')
  await save(editor)
  expect(readFileSync(join(editor.folder, 'bench.detent'), 'utf8')).toMatch(/air 21 °C +# typed\n/)
  expect(statSync(await screenshot(editor, 'open')).size).toBeGreaterThan(10_000)
})

// The editor's own JSON support shows that these steps see what they claim to see.
it('sees a squiggle and a hover, and runs a command', async () => {
  const editor = await openEditor(files)
  await openFile(editor, 'broken.json')
  await waitForSquiggle(editor, 'error')
  expect(await hoverText(editor, '}')).toContain('expected')
  await screenshot(editor, 'hover')

  const sideBar = editor.page.locator('.part.sidebar')
  expect(await sideBar.isVisible()).toBe(true)
  await runCommand(editor, 'View: Toggle Primary Side Bar Visibility')
  await sideBar.waitFor({ state: 'hidden' })
})
