/** Revisions that runs name: looked up where a person asks, and not in a workspace that is not trusted. */
import { spawnSync } from 'node:child_process'
import { chmodSync, existsSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { delimiter, join } from 'node:path'
import type { Locator } from 'playwright-core'
import { afterAll, expect, it } from 'vitest'
import { packageVariable } from '../../../client/scripts/editor/browser.ts'
import { cachedEditor, root } from '../../../client/scripts/editor/cache.ts'
import {
  installExtension,
  prepareData,
  type RunningServer,
  startServer,
} from '../../../client/scripts/editor/server.ts'
import { commitFiles, startRepository } from '../../harness/repository.ts'
import { bench } from '../suite/bench.ts'
import {
  clickText,
  type Editor,
  hoverText,
  needed,
  openFolder,
  runCommand,
  screenshot,
  waitForSquiggle,
} from './editor.ts'

const run = (revision: string): string => `run old of first under all-cores {
  revision "${revision}"
  air 20 °C
  humidity 40 %
  measured { clock 4.800 GHz }
}
`

/** A folder with two commits; the run names the first, with the ratios of that time. */
function repository(): { readonly folder: string; readonly then: string } {
  const output = join(root, 'test-output')
  mkdirSync(output, { recursive: true })
  const folder = mkdtempSync(join(output, 'workspace-'))
  startRepository(folder)
  const then = commitFiles(folder, { 'runs.detent': bench }).slice(0, 10)
  const [before = '', profile = ''] = bench.split('\nprofile ')
  const gap = profile.replace('3 to 8 cores   48x', '4 to 8 cores   44x')
  const now = `detent 1\n\n${run(then)}\nprofile ${gap}${before.replace('detent 1\n', '')}`
  commitFiles(folder, { 'runs.detent': now })
  return { folder, then }
}

const lens = ({ page }: Editor, text: string): Locator => page.locator('.codelens-decoration').filter({ hasText: text })

it.each(['lens', 'command'] as const)('are looked up by the %s', async way => {
  const { folder, then } = repository()
  const editor = await openFolder(folder, 'runs.detent')
  const asked = lens(editor, `Look up revision ${then}`)
  await asked.waitFor()
  expect(await hoverText(editor, 'old of')).toContain(`revision ${then} is not looked up yet`)
  await editor.page.keyboard.press('Escape')
  await screenshot(editor, `revisions-${way}`)
  if (way === 'lens') await asked.locator('a').click()
  else {
    await clickText(editor, 'run old of')
    await runCommand(editor, 'Detent: Look Up the Revisions of Runs')
  }
  await asked.waitFor({ state: 'detached' })
  expect(await hoverText(editor, 'old of')).toContain(`predicted with what its profile set at revision ${then}`)
})

/** One for each try. */
const restricted: { readonly server: RunningServer; readonly data: string }[] = []

afterAll(async () => {
  for (const { server, data } of restricted) {
    await server.stop()
    rmSync(data, { recursive: true, force: true, maxRetries: 5 })
  }
})

/** A server whose windows do not trust a folder until they are asked to, and a `git` that leaves a trace. */
async function restrictedServer(): Promise<{ readonly url: string; readonly gitStarted: () => boolean }> {
  const editor = cachedEditor(process.env)
  if (editor === undefined) throw new Error('The served editor is not here: run these tests with npm run test:editor')
  const data = mkdtempSync(join(tmpdir(), 'detent-restricted-'))
  prepareData(data, {
    'security.workspace.trust.enabled': true,
    'security.workspace.trust.startupPrompt': 'never',
    'security.workspace.trust.banner': 'never',
    // The page on which trust is given is then a tab as any other.
    'workbench.editor.useModal': 'off',
  })
  installExtension(editor, data, needed(packageVariable))
  const trace = join(data, 'git-was-started')
  const git = spawnSync('which', ['git'], { encoding: 'utf8' }).stdout.trim()
  mkdirSync(join(data, 'bin'))
  writeFileSync(join(data, 'bin', 'git'), `#!/bin/sh\n: > '${trace}'\nexec '${git}' "$@"\n`)
  chmodSync(join(data, 'bin', 'git'), 0o755)
  const PATH = `${join(data, 'bin')}${delimiter}${process.env.PATH ?? ''}`
  // As from a terminal: else the editor takes the PATH of a login shell in the place of this one.
  const server = await startServer(editor, data, { PATH, VSCODE_CLI: '1' })
  restricted.push({ server, data })
  return { url: server.url, gitStarted: () => existsSync(trace) }
}

it('are not looked up in a workspace that is not trusted, where all else works', { timeout: 180_000 }, async () => {
  const { folder, then } = repository()
  const { url, gitStarted } = await restrictedServer()
  const editor = await openFolder(folder, 'runs.detent', url)
  const { page } = editor
  await page.locator('.part.statusbar').getByText('Restricted Mode').waitFor()
  await lens(editor, `Revision ${then} is not looked up: the workspace is not trusted`).waitFor()
  await waitForSquiggle(editor, 'error')
  expect(await hoverText(editor, 'old of')).toContain(`revision ${then} is not looked up yet`)
  await page.keyboard.press('Escape')
  await screenshot(editor, 'revisions-restricted')
  // Where nothing is trusted the editor marks characters that could stand for others; degrees are the language's own.
  expect(await page.locator('.editor-instance .unicode-highlight').count()).toBe(0)
  await clickText(editor, 'run old of')
  await runCommand(editor, 'Detent: Look Up the Revisions of Runs')
  await runCommand(editor, 'Notifications: Show Notifications')
  const refused = page.locator('.notifications-center .notification-list-item')
  await refused.filter({ hasText: 'This workspace is not trusted: git is not started in it.' }).waitFor()
  await page.keyboard.press('Escape')
  expect(gitStarted()).toBe(false)
  // The person comes to trust it: the lens offers what it withheld.
  await runCommand(editor, 'Workspaces: Manage Workspace Trust')
  await page
    .locator('.workspace-trust-editor .monaco-button')
    .filter({ hasText: /^Trust$/ })
    .click()
  await page.getByText('You trust this folder').waitFor()
  await page.locator('.tab[data-resource-name="runs.detent"]').click()
  const asked = lens(editor, `Look up revision ${then}`)
  await asked.locator('a').click()
  await asked.waitFor({ state: 'detached' })
  expect(gitStarted()).toBe(true)
})
