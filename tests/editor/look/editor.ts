/**
 * What a person does in the editor, for tests of what a person sees.
 *
 * To add one, add a file `tests/editor/look/NAME.look.ts`:
 *
 *     import { expect, it } from 'vitest'
 *     import { hoverText, openEditor, screenshot, waitForSquiggle } from './editor.ts'
 *
 *     it('underlines a missing unit', async () => {
 *       const editor = await openEditor({ 'a.detent': 'detent 1\n…' }, 'a.detent')
 *       await waitForSquiggle(editor, 'error')
 *       expect(await hoverText(editor, '45 K')).toContain('°C')
 *       await screenshot(editor, 'missing-unit')     // test-output/screenshots/missing-unit.png: look at it
 *     })
 *
 * The extension under test is the packed one. Run with `npm run test:editor -- --look NAME`.
 */
import { cpSync, mkdirSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs'
import { basename, dirname, join } from 'node:path'
import { type Browser, chromium, type Locator, type Page } from 'playwright-core'
import { expect } from 'vitest'
import { browserVariable, pageAddress, remoteUri, urlVariable } from '../../../client/scripts/editor/browser.ts'
import { root } from '../../../client/scripts/editor/cache.ts'
import { closeKey, tidyKey } from '../../../client/scripts/editor/server.ts'
import { waitUntilWatched } from './watched.ts'

/** An editor window with a workspace folder of its own. */
export interface Editor {
  readonly page: Page
  /** The workspace folder on disk. */
  readonly folder: string
}

export type Severity = 'error' | 'warning' | 'info' | 'hint'

const output = join(root, 'test-output')

const windowPx = { width: 1280, height: 800 }

/** A page takes this long to settle on a slow machine. */
const settleMs = 40_000

let shared: Promise<{ browser: Browser; page: Page }> | undefined

/** Opens the one page that all tests share; the browser drops it when the run's last connection closes. */
function sharedPage(): Promise<{ browser: Browser; page: Page }> {
  shared ??= chromium.connect(needed(browserVariable)).then(newPage)
  return shared
}

async function newPage(browser: Browser): Promise<{ browser: Browser; page: Page }> {
  const context = await browser.newContext({ viewport: windowPx })
  const page = await context.newPage()
  page.on('dialog', dialog => dialog.accept())
  return { browser, page }
}

/**
 * Gives the tests that follow a page of their own. For those that make the editor hand something to the system: that opens
 * another page, and the one behind it gets neither pointer nor keys any more.
 */
export async function leavePage(): Promise<void> {
  const { browser, page } = await sharedPage()
  leaveDesk()
  await page.context().close()
  shared = newPage(browser)
  await shared
}

/** What the run has set for its tests. */
export function needed(name: string): string {
  const value = process.env[name]
  if (value === undefined) throw new Error(`${name} is not set: run these tests with npm run test:editor`)
  return value
}

/** A page by itself, as a phone or a browser shows it. */
export async function openAlone(html: string, width: number): Promise<Page> {
  const { browser } = await sharedPage()
  const context = await browser.newContext({ viewport: { width, height: 900 } })
  const page = await context.newPage()
  await page.setContent(html)
  return page
}

/** Where the files of a test come from: texts by their paths, or a folder to copy. */
export type Files = Readonly<Record<string, string>> | Copy

interface Copy {
  readonly copyOf: string
  readonly settings?: Readonly<Record<string, unknown>>
}

/**
 * Puts `files` before a person: in a folder of their own within the folder of the window that stays open from test to
 * test, with nothing else open, and opens one of them if named. Settings (`.vscode/settings.json`) are the window's.
 *
 * A test whose predecessor failed gets a window of its own; so does one that is tried again.
 */
export async function openEditor(files: Files, open?: string): Promise<Editor> {
  const settings = settingsIn(files)
  desk = await tidyDesk(desk)
  const isNew = desk === undefined
  desk ??= newDesk()
  for (const name of readdirSync(desk)) rmSync(join(desk, name), { recursive: true, force: true, maxRetries: 3 })
  if (settings !== undefined) write(desk, { [settingsPath]: settings })
  // A name of its own each time: the editor remembers where the cursor stood in a file.
  const folder = mkdtempSync(join(desk, 'bench-'))
  if (!isNew) await waitUntilWatched(folder)
  if (isCopy(files)) cpSync(files.copyOf, folder, { recursive: true })
  else write(folder, files)
  if (isNew) {
    const { page } = await openWindow(desk, open === undefined ? undefined : join(folder, open))
    return { page, folder }
  }
  const { page } = await sharedPage()
  const editor = { page, folder }
  if (open !== undefined) await openFile(editor, open)
  return editor
}

const settingsPath = '.vscode/settings.json'
const isCopy = (files: Files): files is Copy => typeof files.copyOf === 'string'

function settingsIn(files: Files): string | undefined {
  if (!isCopy(files)) return files[settingsPath]
  return files.settings && JSON.stringify(files.settings)
}

function write(folder: string, files: Readonly<Record<string, string>>): void {
  for (const [path, text] of Object.entries(files)) {
    mkdirSync(dirname(join(folder, path)), { recursive: true })
    writeFileSync(join(folder, path), text)
  }
}

/** The folder of the window that stays open, while the page shows it. */
let desk: string | undefined

function newDesk(): string {
  mkdirSync(output, { recursive: true })
  return mkdtempSync(join(output, 'workspace-'))
}

/** The next test gets a window of its own. */
export function leaveDesk(): void {
  desk = undefined
}

/** Closes what is open in the window, saved or not; undefined where that cannot be done. */
async function tidyDesk(folder: string | undefined): Promise<string | undefined> {
  if (folder === undefined) return undefined
  const { page } = await sharedPage()
  await page.bringToFront()
  await page.setViewportSize(windowPx)
  await page.mouse.move(0, 0)
  for (let count = 0; count < 3; count++) await page.keyboard.press('Escape')
  const tabs = page.locator('.part.editor .tab')
  for (let open = await tabs.count(); open > 0; ) {
    await page.keyboard.press(closeKey)
    const gone = await expect
      .poll(() => tabs.count(), { timeout: 5000 })
      .toBeLessThan(open)
      .then(
        () => true,
        () => false,
      )
    if (!gone) return undefined
    open = await tabs.count()
  }
  await page.keyboard.press(tidyKey)
  return folder
}

/**
 * Opens a folder that is already there in a window of its own.
 * @param serverUrl of the editor's server, where the test has one of its own
 */
export async function openFolder(folder: string, open?: string, serverUrl = needed(urlVariable)): Promise<Editor> {
  leaveDesk()
  return openWindow(folder, open === undefined ? undefined : join(folder, open), serverUrl)
}

/** @param path of a file to open */
async function openWindow(folder: string, path?: string, serverUrl = needed(urlVariable)): Promise<Editor> {
  const { page } = await sharedPage()
  // A page behind another, even one that is closed by now, gets no pointer and no keys.
  await page.bringToFront()
  await page.setViewportSize(windowPx)
  const file = path === undefined ? [] : [['openFile', remoteUri(serverUrl, path)] as const]
  await page.goto(pageAddress(serverUrl, folder, file))
  await page.locator('.monaco-workbench .part.statusbar').waitFor({ timeout: settleMs })
  const editor = { page, folder }
  if (path !== undefined) await waitForFile(editor, path)
  return editor
}

/** Opens one more file of the folder through the quick-open box. */
export async function openFile(editor: Editor, path: string): Promise<void> {
  await editor.page.keyboard.press('Control+P')
  // As a whole, and taken where its folder is named: the list also has what was open before under the same name.
  const isShared = desk !== undefined && editor.folder.startsWith(desk)
  await fillQuickInput(editor, join(editor.folder, path), [
    basename(path),
    ...(isShared ? [basename(editor.folder)] : []),
  ])
  await waitForFile(editor, path)
}

async function waitForFile(editor: Editor, path: string): Promise<void> {
  const name = path.split('/').at(-1) ?? path
  await editor.page.locator(`.tab.active[data-resource-name="${name}"]`).waitFor({ timeout: settleMs })
  await editor.page.locator('.editor-instance .view-line').first().waitFor({ timeout: settleMs })
  // The text is there before the extensions are; until then the file is plain text.
  const language = editor.page.locator('[id="status.editor.mode"]')
  if (name.endsWith('.detent')) await language.filter({ hasText: 'Detent' }).waitFor({ timeout: settleMs })
}

/** Runs a command by its title through the command palette, and waits until the palette is gone. */
export async function runCommand(editor: Editor, title: string): Promise<void> {
  await startCommand(editor, title)
  await editor.page.locator('.quick-input-widget').waitFor({ state: 'hidden' })
}

/** Runs a command that asks for something more in the place of the palette. */
export async function startCommand({ page }: Editor, title: string): Promise<void> {
  const wanted = page.locator('.quick-input-list .monaco-list-row.focused').filter({ hasText: title })
  // The list is that of the moment at which it opens: the extensions' commands come a little later than the page.
  for (let attempt = 1; ; attempt++) {
    await page.keyboard.press('F1')
    // A page that has only just opened does not hear its keys yet.
    const found = await page
      .locator('.quick-input-widget input.input')
      .first()
      .fill(`>${title}`, { timeout: 3000 })
      .then(() => wanted.waitFor({ timeout: 3000 }))
      .then(
        () => true,
        () => false,
      )
    if (found) break
    if (attempt === 10) throw new Error(`There is no command “${title}”`)
    await page.keyboard.press('Escape')
  }
  await page.keyboard.press('Enter')
}

/** Opens the quick fixes at the cursor, and gives the one of this title. */
export async function offeredFix({ page }: Editor, title: string): Promise<Locator> {
  const row = page.locator('.action-widget .monaco-list-row').filter({ hasText: title }).first()
  // The list is that of the moment at which it opens: the editor asks for findings a little after the text changed.
  for (let attempt = 1; attempt <= 6; attempt++) {
    await page.keyboard.press('Control+.')
    const found = await row.waitFor({ timeout: 3000 }).then(
      () => true,
      () => false,
    )
    if (found) return row
    await page.keyboard.press('Escape')
  }
  throw new Error(`There is no fix “${title}”`)
}

/** A message to the person. Under test the editor keeps messages in its list of them. */
export async function message(editor: Editor, text: string): Promise<Locator> {
  await runCommand(editor, 'Notifications: Show Notifications')
  return editor.page.locator('.notifications-center .notification-list-item').filter({ hasText: text })
}

/** Waits until the Markdown preview shows this text. */
export async function inPreview({ page }: Editor, text: string): Promise<void> {
  const preview = page.frameLocator('iframe.webview.ready').last().frameLocator('#active-frame')
  await preview.getByText(text).first().waitFor()
}

/** @param says what the row that is taken says */
async function fillQuickInput({ page }: Editor, text: string, says: readonly string[]): Promise<void> {
  const box = page.locator('.quick-input-widget input.input').first()
  await box.waitFor()
  await box.fill(text)
  // The list takes a moment to follow what was typed.
  const focused = page.locator('.quick-input-list .monaco-list-row.focused')
  await says.reduce((row, hasText) => row.filter({ hasText }), focused).waitFor()
  await page.keyboard.press('Enter')
  await page.locator('.quick-input-widget').waitFor({ state: 'hidden' })
}

/** Puts the cursor behind the first place where `text` stands in the open file. */
export async function clickText(editor: Editor, text: string): Promise<void> {
  for (let attempt = 1; attempt <= 5; attempt++) {
    const box = await textBox(editor, text)
    await editor.page.mouse.click(box.x + box.width, box.y + box.height / 2)
    // What comes above the line, such as a lens, moves it down.
    const after = await textBox(editor, text)
    if (after.x === box.x && after.y === box.y) return
  }
  throw new Error(`“${text}” does not keep its place`)
}

/** Types at the cursor, as with the keyboard. */
export async function typeText(editor: Editor, text: string): Promise<void> {
  await editor.page.keyboard.type(text, { delay: 10 })
}

/** Saves the open file, which must have been changed, and waits until the editor shows it as saved. */
export async function save(editor: Editor): Promise<void> {
  await editor.page.locator('.tab.active.dirty').waitFor()
  await editor.page.keyboard.press('Control+S')
  await editor.page.locator('.tab.active:not(.dirty)').waitFor()
}

/** Waits for a squiggle of that severity and gives the places where they stand. */
export async function waitForSquiggle(editor: Editor, severity: Severity): Promise<Locator> {
  const squiggles = editor.page.locator(`.editor-instance .squiggly-${severity}`)
  await squiggles.first().waitFor({ state: 'attached', timeout: settleMs })
  return squiggles
}

/** Rests the mouse on the first place where `text` stands and gives the hover's text. */
export async function hoverText(editor: Editor, text: string): Promise<string> {
  const hover = editor.page.locator('.monaco-hover:not(.hidden) .hover-contents').first()
  // A pointer that moved while the page was busy is not seen to rest: it is moved once more.
  for (let attempt = 1; ; attempt++) {
    const box = await textBox(editor, text)
    await editor.page.mouse.move(0, 0)
    await editor.page.mouse.move(box.x + box.width / 2, box.y + box.height / 2, { steps: 3 })
    const isThere = await hover.waitFor({ timeout: 8_000 }).then(
      () => true,
      () => false,
    )
    // What comes above the line, such as a lens, moves it down.
    const after = await textBox(editor, text)
    if (isThere && after.x === box.x && after.y === box.y) break
    if (attempt === 3) throw new Error(`Nothing is shown for “${text}”`)
  }
  await editor.page.locator('.monaco-hover .hover-contents:has-text("Loading...")').waitFor({ state: 'detached' })
  const parts = await editor.page.locator('.monaco-hover:not(.hidden) .hover-contents').allInnerTexts()
  // Figures and their units do not break.
  return parts.join('\n').replaceAll('\u00a0', ' ')
}

/** The open file's visible text; the editor draws spaces as no-break spaces. */
export async function visibleText(editor: Editor): Promise<string> {
  const lines = await editor.page.locator('.editor-instance .view-line').evaluateAll(elements =>
    elements
      .map(element => ({ top: Number.parseFloat(element.style.top), text: element.textContent ?? '' }))
      .sort((a, b) => a.top - b.top)
      .map(line => line.text),
  )
  return lines.join('\n').replaceAll('\u00a0', ' ')
}

/** Writes test-output/screenshots/NAME.png, of the whole page or of a part, and gives its path. */
export async function screenshot(editor: Editor, name: string, part?: Box): Promise<string> {
  const path = join(output, 'screenshots', `${name}.png`)
  await editor.page.screenshot({ path, ...(part === undefined ? {} : { clip: part }) })
  return path
}

/** Writes test-output/screenshots/failed-NAME.png, if a page was opened at all. */
export async function screenshotOfFailure(testName: string): Promise<void> {
  if (shared === undefined) return
  const { page } = await shared
  const name = testName.toLowerCase().replaceAll(/[^a-z0-9]+/g, '-')
  await page.screenshot({ path: join(output, 'screenshots', `failed-${name}.png`) })
}

interface Box {
  readonly x: number
  readonly y: number
  readonly width: number
  readonly height: number
}

/** The box in the page of the first place where `text` stands, also across the spans that the colouring makes. */
async function textBox(editor: Editor, text: string): Promise<Box> {
  const lines = editor.page.locator('.editor-instance .view-line')
  const box = await lines.evaluateAll((elements, wanted) => {
    const byTop = [...elements].sort((a, b) => Number.parseFloat(a.style.top) - Number.parseFloat(b.style.top))
    for (const line of byTop) {
      const start = (line.textContent ?? '').replaceAll('\u00a0', ' ').indexOf(wanted)
      if (start < 0) continue
      const range = line.ownerDocument.createRange()
      const walker = line.ownerDocument.createTreeWalker(line, 4)
      let before = 0
      for (let node = walker.nextNode(); node; node = walker.nextNode()) {
        const length = node.textContent?.length ?? 0
        const from = start - before
        const to = start + wanted.length - before
        if (from >= 0 && from < length) range.setStart(node, from)
        if (to > 0 && to <= length) range.setEnd(node, to)
        before += length
      }
      const { x, y, width, height } = range.getBoundingClientRect()
      return { x, y, width, height }
    }
    return undefined
  }, text)
  if (box === undefined) throw new Error(`“${text}” is not in view`)
  return box
}
