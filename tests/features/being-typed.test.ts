import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { parseFile } from '../../grammar/file.ts'
import { createService } from '../../server/service.ts'
import { memoryFiles } from '../harness/file-systems.ts'
import { loadAtCursor } from '../harness/fixture.ts'
import { root } from '../harness/sources.ts'
import { bench } from './bench.ts'

const folder = join(root, 'grammar', 'examples', 'bench')
const files = Object.fromEntries(
  readdirSync(folder)
    .filter(name => name.endsWith('.detent'))
    .map(name => [`memory://bench/${name}`, readFileSync(join(folder, name), 'utf8')]),
)

async function canGoOn(text: string): Promise<boolean | undefined> {
  const { service, cursor } = await loadAtCursor(text)
  return service.features.beingTyped(cursor.uri, cursor.offset)?.canGoOn
}

describe('what is being typed', () => {
  it.each(Object.keys(files))('can be gone on with at every letter of %s', async uri => {
    const text = files[uri] ?? ''
    const service = createService(memoryFiles(files))
    await service.workspace.load([uri])
    const stopped: string[] = []
    for (const { chunk, start } of parseFile(text).chunks) {
      const comments = chunk.tokens.filter(({ kind }) => kind === 'comment')
      for (let at = 1; at <= chunk.text.length; at++) {
        const before = chunk.text.slice(0, at)
        const line = before.slice(before.lastIndexOf('\n') + 1)
        const isRemark = comments.some(comment => at > comment.start && at <= comment.end)
        // Behind a whole statement there is nothing to go on with.
        if (isRemark || /[ }"]$/.test(line)) continue
        // As it is typed, with the braces that the editor has closed already.
        const braces = chunk.tokens.filter(({ end }) => end <= at).map(({ kind }) => kind)
        const depth = braces.filter(kind => kind === 'open').length - braces.filter(kind => kind === 'close').length
        service.workspace.set(uri, `${text.slice(0, start + at)}\n${'}\n'.repeat(depth)}`, at)
        if (service.features.beingTyped(uri, start + at)?.canGoOn !== true) stopped.push(line)
      }
    }
    expect(stopped).toEqual([])
  })

  it.each([
    ['room r {\n  air 20 °C$0\n}\n', true],
    ['room r {\n  ai$0\n}\n', true],
    ['room r {\n  $0\n}\n', true],
    ['room r {\n  air 95 degC$0\n}\n', true],
    ['part p {\n  switching 2.1 nF +-$0\n}\n', true],
    ['room r {\n  aire$0\n}\n', false],
    ['room r {\n  aire $0\n}\n', false],
    ['room r {\n  air 20 °C x$0\n}\n', false],
    ['room r {\n  air 20,5$0\n}\n', false],
    ['room r {\n  air 20 V$0\n}\n', false],
    ['part p {\n  cores eight$0\n}\n', false],
    ['cooler c kind wat$0', false],
    [`${bench}profile q {\n  part sample$0\n}\n`, true],
    [`${bench}profile q {\n  part simple$0\n}\n`, false],
    [`${bench}profile q {\n  expect pair dies$0\n}\n`, false],
    ['allow steps-g$0', true],
    ['allow stups$0', false],
    // A statement that ended, with more behind it than it can hold.
    ['part p {\n  cores 8 $0\n}\n', false],
  ])('%j: %s', async (text, expected) => {
    expect(await canGoOn(text)).toBe(expected)
  })
})
