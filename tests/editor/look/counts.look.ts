import { spawnSync } from 'node:child_process'
import { cpSync, mkdirSync, mkdtempSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { expect, it } from 'vitest'
import { root } from '../../../client/scripts/editor/cache.ts'
import { type Editor, openFolder, screenshot, startCommand } from './editor.ts'

/** One number of findings for the same files, wherever it is read: status item, list of problems, task and command. */

const output = join(root, 'test-output')

/** Errors, warnings and hints of several files. */
const codes = ['current-over', 'drive-short', 'frost', 'needs-untested', 'steps-gap', 'steps-overlap', 'unused-name']
const names = codes.map(code => `${code}.detent`)

/** What the status item says: findings, and hints apart. */
async function inStatus({ page }: Editor): Promise<string> {
  const text = (await page.locator('[id="detent.detent.detent.status"]').textContent()) ?? ''
  const [, findings = '0'] = /(\d+) findings?/.exec(text) ?? []
  const [, hints = '0'] = /(\d+) hints?/.exec(text) ?? []
  return `${findings} and ${hints}`
}

/** Errors, warnings and information in the editor's own item. */
async function inProblems({ page }: Editor): Promise<number> {
  const text = (await page.locator('[id="status.problems"]').textContent()) ?? ''
  return (text.match(/\d+/g) ?? []).reduce((sum, count) => sum + Number(count), 0)
}

it('is counted alike by the status item, the list of problems, the task and the command', {
  timeout: 180_000,
}, async () => {
  mkdirSync(output, { recursive: true })
  const folder = mkdtempSync(join(output, 'workspace-'))
  for (const name of names) cpSync(join(root, 'grammar', 'examples', 'faulty', name), join(folder, name))
  mkdirSync(join(folder, '.vscode'))
  writeFileSync(
    join(folder, '.vscode', 'settings.json'),
    JSON.stringify({ 'terminal.integrated.gpuAcceleration': 'off' }),
  )
  const checked = spawnSync(process.execPath, [join(root, 'dist', 'detent.cjs'), 'check', '--output', 'json', '.'], {
    cwd: folder,
    encoding: 'utf8',
  })
  const { findings } = JSON.parse(checked.stdout) as { findings: readonly { severity: string }[] }
  const hints = findings.filter(({ severity }) => severity === 'hint').length
  const others = findings.length - hints
  expect([others, hints].every(count => count > 0)).toBe(true)

  const editor = await openFolder(folder, 'current-over.detent')
  await expect.poll(() => inStatus(editor), { timeout: 40_000 }).toBe(`${others} and ${hints}`)
  await expect.poll(() => inProblems(editor)).toBe(others)
  await screenshot(editor, 'counts')

  await startCommand(editor, 'Tasks: Run Test Task')
  await editor.page.locator('.quick-input-list .monaco-list-row').filter({ hasText: 'detent: check' }).click()
  const terminal = editor.page.locator('.part.panel .terminal-outer-container, .part.panel .terminal-wrapper').first()
  await terminal.waitFor({ timeout: 20_000 })
  // Its last line, drawn as text.
  const printed = editor.page.locator('.xterm-rows').first()
  await expect
    .poll(async () => (await printed.textContent())?.replaceAll('\u00a0', ' '), { timeout: 60_000 })
    .toMatch(new RegExp(`\\b${others} findings \\(.*\\) and ${hints} hints? in`))
  // What the task finds would be read from its lines a moment later, and would be listed twice.
  await editor.page.waitForTimeout(2_000)
  await screenshot(editor, 'counts-task')
  expect(await inProblems(editor)).toBe(others)
  expect(await inStatus(editor)).toBe(`${others} and ${hints}`)
})
