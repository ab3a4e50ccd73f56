/** Lays out what is new, so that nothing of it is forgotten: `npm run new check cooling/hose-wet`. */
import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs'

const top = new URL('../../', import.meta.url)

export class LayoutError extends Error {}

const camel = (code: string): string => code.replace(/-(.)/g, (_, letter: string) => letter.toUpperCase())

function checkText(code: string): string {
  return `import { namePlace } from '../support/place.ts'
import type { Check } from '../types.ts'

export const ${camel(code)}: Check = {
  code: '${code}',
  severity: 'warning',
  title: '…',
  page: {
    what: '…',
    why: '…',
    remedy: '…',
    example: '…',
  },
  *inProfile({ profile }) {
    if (profile.definition.name === '…') yield { at: namePlace(profile.definition), message: '…' }
  },
}
`
}

function testText(code: string): string {
  return `import { describe, expect, it } from 'vitest'
import { demo, edited, messageOf, placesOf } from './demo.ts'

const code = '${code}'

describe(code, () => {
  it('is found where the example marks it, with what is wrong, why it matters and what to do', async () => {
    expect(await placesOf(code, demo(code))).toEqual(['…'])
    expect(await messageOf(code, demo(code))).toContain('…')
  })

  it('is not found where it is only just right', async () => {
    expect(await placesOf(code, edited(demo(code), ['…', '…']))).toEqual([])
  })
})
`
}

/** The folder's list with the new check behind the others, its import in order. */
function indexText(before: string, code: string): string {
  const lines = before.split('\n')
  const added = `import { ${camel(code)} } from './${code}.ts'`
  const after = lines.findLastIndex(
    line => /^import \{ .* from '\.\//.test(line) && line.slice(line.indexOf("'")) < added.slice(added.indexOf("'")),
  )
  lines.splice(after < 0 ? lines.findIndex(line => line.startsWith('import type')) + 1 : after + 1, 0, added)
  const end = lines.lastIndexOf(']')
  lines.splice(end, 0, `  ${camel(code)},`)
  return lines.join('\n')
}

/** An example with the finding: another check's, whose mark names this one until it is rewritten. */
function exampleText(model: string, code: string): string {
  return model
    .split('\n')
    .map(line => (line.includes('# finds: ') ? line.slice(0, line.indexOf('# finds: ')).trimEnd() : line))
    .join('\n')
    .replace(/^(profile \w+ \{)$/m, (head: string) => `${head.padEnd(40)}# finds: ${code}`)
}

/**
 * The files of a new check by their path, with what they begin as.
 *
 * @param name folder and code: `cooling/hose-wet`
 * @throws LayoutError where the name is no such, or is taken
 */
export function newCheck(name: string): ReadonlyMap<string, string> {
  const [folder = '', code = '', ...rest] = name.split('/')
  const rooms = readdirSync(new URL('server/checks/', top), { withFileTypes: true })
    .filter(entry => entry.isDirectory() && existsSync(new URL(`server/checks/${entry.name}/index.ts`, top)))
    .map(entry => entry.name)
  if (!rooms.includes(folder) || rest.length > 0 || !/^[a-z]+(-[a-z]+)+$/.test(code)) {
    throw new LayoutError(
      `Say a folder and a code of two words or more, as in steps/steps-gap. Folders: ${rooms.join(', ')}.`,
    )
  }
  const file = `server/checks/${folder}/${code}.ts`
  if (existsSync(new URL(`grammar/examples/faulty/${code}.detent`, top)))
    throw new LayoutError(`There is a check ${code} already.`)
  const read = (path: string): string => readFileSync(new URL(path, top), 'utf8')
  const index = `server/checks/${folder}/index.ts`
  return new Map([
    [file, checkText(code)],
    [index, indexText(read(index), code)],
    [`grammar/examples/faulty/${code}.detent`, exampleText(read('grammar/examples/faulty/limit-idle.detent'), code)],
    [`tests/checks/${code}.test.ts`, testText(code)],
  ])
}

if (import.meta.main) {
  const [what, name = ''] = process.argv.slice(2)
  try {
    if (what !== 'check') throw new LayoutError('Only a check can be laid out: npm run new check steps/steps-gap')
    for (const [path, content] of newCheck(name)) {
      writeFileSync(new URL(path, top), content)
      console.log(path)
    }
    console.log('Fill in every …, then: npm run generate, npm run format, and the tests in tests/checks.')
  } catch (error) {
    if (!(error instanceof LayoutError)) throw error
    console.error(error.message)
    process.exitCode = 2
  }
}
