import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { expect, it } from 'vitest'
import { isWhole } from '../../harness/sampled.ts'
import { type Editor, openEditor, save, screenshot } from './editor.ts'
import { eachStatement, exampleBench, typeLikeAPerson } from './typing.ts'

/**
 * What stands in the file is what was typed: no list, no closing brace and no indent takes a key for something else. The
 * first kinds of statements in every run, each kind once in a whole one; with DETENT_TYPE_ALL=1 the whole example bench,
 * which takes half an hour.
 */

const whole = process.env.DETENT_TYPE_ALL === '1'

// As typed: the formatter, which would put right an indent, is left out.
const raw = { '.vscode/settings.json': JSON.stringify({ '[detent]': { 'editor.formatOnSave': false } }) }

async function typed(editor: Editor, name: string, text: string): Promise<string> {
  await editor.page.locator('.editor-instance .view-lines').first().click()
  await typeLikeAPerson(editor, text, whole ? 'even' : 'bursts')
  await screenshot(editor, `typed-${name.replace('.detent', '')}`)
  await save(editor)
  return readFileSync(join(editor.folder, name), 'utf8')
}

const benchBeside = exampleBench().get('bench.detent') ?? ''

it(`leaves in the file what was typed, for ${isWhole ? 'each kind' : 'the first kinds'} of statement`, {
  timeout: 480_000,
}, async () => {
  const text = isWhole ? eachStatement() : eachStatement(600)
  expect(text.length).toBeGreaterThan(600)
  const editor = await openEditor({ ...raw, 'mine.detent': '' }, 'mine.detent')
  expect(await typed(editor, 'mine.detent', text)).toBe(text)
})

it.each(whole ? [...exampleBench()] : [])(
  'leaves in the file what was typed: %s',
  { timeout: 1_800_000, retry: 0 },
  async (name, text) => {
    const beside = name === 'bench.detent' ? {} : { 'bench.detent': benchBeside }
    const editor = await openEditor({ ...raw, ...beside, [name]: '' }, name)
    expect(await typed(editor, name, text)).toBe(text)
  },
)
