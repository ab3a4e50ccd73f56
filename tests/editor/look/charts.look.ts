/** Every chart beside the text in the four default themes, narrow to wide: nothing cut, nothing on top of each other. */
import { readFileSync, writeFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import { join } from 'node:path'
import { expect, it } from 'vitest'
import { benchFolder, openBench, panel, shows } from './beside-panel.ts'
import { clickText, type Editor, openFile, runCommand, screenshot } from './editor.ts'

/** The editor's default themes: our name, its name, and the kind that a page in the editor is given. */
const themes = [
  ['light', 'Default Light Modern', 'vscode-light'],
  ['dark', 'Default Dark Modern', 'vscode-dark'],
  ['contrast-dark', 'Default High Contrast', 'vscode-high-contrast'],
  ['contrast-light', 'Default High Contrast Light', 'vscode-high-contrast-light'],
] as const

/** Where to click, and what is then shown. */
const views = [
  ['plate-stack.detent', 'profile winter', 'winter: operating map for full activity', 'map'],
  ['plate-stack.detent', 'drive dew + 2 K', 'winter: plate-stack under full activity on 12 cores', 'cooling'],
  ['bench.detent', 'needs {', 'sample-b7 with ', 'ledger'],
  ['runs.detent', 'run heavy-render', 'Run heavy-render', 'course'],
] as const

const accessibility = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8')

interface Faults {
  readonly cut: readonly string[]
  readonly overlapping: readonly string[]
  readonly wide: boolean
}

/** What is wrong with the labels as the browser draws them, by their boxes; a pixel of rounding is allowed. */
async function faultsOf(editor: Editor): Promise<Faults> {
  return panel(editor)
    .locator('#picture svg')
    .evaluate(svg => {
      const room = svg.getBoundingClientRect()
      const labels = [...svg.querySelectorAll('text')].map(label => ({
        text: label.textContent ?? '',
        box: label.getBoundingClientRect(),
      }))
      const cut = labels.flatMap(({ text, box }) =>
        box.left < room.left - 1 || box.right > room.right + 1 || box.top < room.top - 1 || box.bottom > room.bottom + 1
          ? [text]
          : [],
      )
      const overlapping = labels.flatMap((one, index) =>
        labels.slice(index + 1).flatMap(other => {
          const across = Math.min(one.box.right, other.box.right) - Math.max(one.box.left, other.box.left)
          // A line of text has room above and below its letters.
          const down = Math.min(one.box.bottom, other.box.bottom) - Math.max(one.box.top, other.box.top)
          return across > 1 && down > 4 ? [`${one.text} | ${other.text}`] : []
        }),
      )
      const page = svg.ownerDocument.documentElement
      return { cut, overlapping, wide: page.scrollWidth > page.clientWidth + 1 }
    })
}

interface Violation {
  readonly id: string
  readonly impact?: string | null
  readonly nodes: readonly { readonly html: string; readonly failureSummary?: string }[]
}

/** What an accessibility checker calls serious or worse. */
async function violationsOf(editor: Editor): Promise<readonly string[]> {
  const body = panel(editor).locator('body')
  const frame = (await (await body.elementHandle())?.ownerFrame()) ?? undefined
  if (frame === undefined) return ['no page']
  await frame.evaluate(accessibility)
  const { violations } = (await frame.evaluate('axe.run(document, { resultTypes: ["violations"] })')) as {
    violations: readonly Violation[]
  }
  return violations
    .filter(({ impact }) => impact === 'serious' || impact === 'critical')
    .flatMap(({ id, nodes }) =>
      nodes.map(({ html, failureSummary }) => `${id}: ${html.slice(0, 120)} ${failureSummary}`),
    )
}

/** Waits until the picture is drawn for the width that the panel has. */
async function waitForWidth(editor: Editor): Promise<void> {
  await expect
    .poll(async () => {
      const svg = panel(editor).locator('#picture svg')
      const drawn = Number(await svg.getAttribute('width'))
      const page = await panel(editor)
        .locator('body')
        .evaluate(body => body.ownerDocument.documentElement.clientWidth)
      return Math.abs(drawn - Math.max(320, page - 16))
    })
    .toBeLessThan(9)
}

const settingsOf = (theme: string): string => JSON.stringify({ 'workbench.colorTheme': theme })

it('every chart in four themes at two widths: labels apart, nothing serious for a reader', async () => {
  const folder = benchFolder({ 'workbench.colorTheme': themes[0][1] })
  const editor = await openBench('plate-stack.detent', folder)
  const { page } = editor
  await runCommand(editor, 'View: Close Primary Side Bar').catch(() => undefined)
  await clickText(editor, 'profile winter')
  await runCommand(editor, 'Detent: Show Charts Beside')
  const found: Record<string, unknown> = {}
  const look = async (kind: string, theme: string, width: number): Promise<void> => {
    const faults = await faultsOf(editor)
    // Names and colours do not depend on the width.
    const serious = width === 700 ? [] : await violationsOf(editor)
    if (faults.cut.length + faults.overlapping.length + serious.length > 0 || faults.wide)
      found[`${kind} ${theme} ${width}`] = { ...faults, serious }
    await screenshot(editor, `chart-${kind}-${theme}-${width}`)
    looked++
  }
  let looked = 0
  try {
    await page.setViewportSize({ width: 1400, height: 800 })
    for (const [at, [file, text, title, kind]] of views.entries()) {
      await openFile(editor, file)
      await page.keyboard.press('Control+Home')
      await clickText(editor, text)
      await shows(editor, title)
      if (kind === 'course') await panel(editor).locator('path.main').first().waitFor()
      await waitForWidth(editor)
      for (const [name, theme, kindOfTheme] of themes) {
        writeFileSync(join(folder, '.vscode', 'settings.json'), settingsOf(theme))
        await panel(editor).locator(`body[data-vscode-theme-kind="${kindOfTheme}"]`).waitFor()
        await look(kind, name, 1400)
      }
      // What lies on what does not depend on colours: narrow, each chart is looked at in one theme.
      const [narrow, theme] = themes[at % themes.length] as (typeof themes)[number]
      writeFileSync(join(folder, '.vscode', 'settings.json'), settingsOf(theme))
      await page.setViewportSize({ width: 700, height: 800 })
      await waitForWidth(editor)
      await look(kind, narrow, 700)
      await page.setViewportSize({ width: 1400, height: 800 })
      await waitForWidth(editor)
    }
  } finally {
    await page.setViewportSize({ width: 1280, height: 800 })
  }
  expect(found).toEqual({})
  expect(looked).toBe(views.length * (themes.length + 1))
}, 300_000)
