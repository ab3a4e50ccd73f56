import { existsSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { projectPaths, root } from '../harness/sources.ts'
import { detent } from './helpers.ts'

/**
 * What the README shows is what the command prints: its `console` blocks are run in `grammar/examples`. A line with
 * `…` alone stands for lines left out.
 */

const readme = readFileSync(join(root, 'README.md'), 'utf8')
const examples = join(root, 'grammar', 'examples')

interface Shown {
  readonly args: readonly string[]
  readonly output: string
}

function shownCalls(): Shown[] {
  return [...readme.matchAll(/```console\n([\s\S]*?)```/g)].flatMap(([, block = '']) =>
    block
      .split(/^\$ /m)
      .filter(call => call.startsWith('detent '))
      .map(call => {
        const [line = '', ...output] = call.split('\n')
        const args = line.match(/'[^']*'|\S+/g) ?? []
        return { args: args.slice(1).map(arg => arg.replace(/^'(.*)'$/, '$1')), output: output.join('\n') }
      }),
  )
}

describe('the README', () => {
  const calls = shownCalls()

  it('shows the sub-commands at work', () => {
    const shown = new Set(calls.map(call => call.args[0]))
    expect(['check', 'predict', 'sheet', 'compare', 'format'].filter(name => !shown.has(name))).toEqual([])
  })

  it.each(calls.map(call => [call.args.join(' '), call] as const))(
    'tells the truth about detent %s',
    async (_, call) => {
      const { out, err } = await detent(examples, call.args)
      const pieces = call.output.trimEnd().split(/^\s*…\s*$/m)
      let at = 0
      const printed = out + err
      for (const piece of pieces) {
        const found = printed.indexOf(piece.replace(/^\n/, ''), at)
        expect(found, `${piece}\nis not in\n${printed.slice(at)}`).toBeGreaterThanOrEqual(at)
        at = found + piece.length - 1
      }
      if (pieces.length === 1) expect(printed.trimEnd()).toBe(call.output.trimEnd())
    },
  )

  it('shows the first profile as it stands among the examples', () => {
    const first = readFileSync(join(examples, 'first.detent'), 'utf8')
    expect(readme).toContain(`\`\`\`detent\n${first}\`\`\``)
  })

  it('has every command of the extension in its table', () => {
    const { contributes } = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8')) as {
      contributes: { commands: { title: string }[] }
    }
    const titles = contributes.commands.map(({ title }) => title)
    expect(titles.length).toBeGreaterThan(5)
    expect(titles.filter(title => !new RegExp(`^\\|.*\\*${title}\\*.*\\|`, 'm').test(readme))).toEqual([])
  })

  it('has every setting of the extension in its table', () => {
    interface Manifest {
      readonly contributes: {
        readonly configuration?: { readonly properties?: object } | readonly { properties?: object }[]
      }
    }
    const manifest = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8')) as Manifest
    const sections = [manifest.contributes.configuration ?? []].flat()
    const settings = sections.flatMap(section => Object.keys(section.properties ?? {}))
    expect(settings.filter(setting => !readme.includes(`| \`${setting}\` |`))).toEqual([])
    expect(readme).toContain('| `detent.checks.severity` |')
  })

  it('links to files that are there', () => {
    const links = [...readme.matchAll(/\]\((?!https?:)([^)#]+)(?:#[^)]*)?\)/g)].map(([, path = '']) => path)
    const known = new Set(projectPaths())
    const folders = new Set(
      [...known].flatMap(path => path.split('/').map((_, index, all) => all.slice(0, index).join('/'))),
    )
    expect(links.length).toBeGreaterThan(2)
    expect(links.filter(link => !known.has(link) && !folders.has(link.replace(/\/$/, '')))).toEqual([])
  })
})

describe('DEVELOPERS.md', () => {
  it('speaks of files and folders that are there', () => {
    const text = readFileSync(join(root, 'DEVELOPERS.md'), 'utf8')
    const named = [...text.matchAll(/`((?:grammar|server|client|tests)(?:\/[\w.-]+)*)\/?`/g)].map(
      ([, path = '']) => path,
    )
    expect(named.length).toBeGreaterThan(25)
    expect(named.filter(path => !existsSync(join(root, path)))).toEqual([])
  })

  /** The lines of a part of the page, from its heading to the next. */
  const part = (heading: string): readonly string[] =>
    readFileSync(join(root, 'DEVELOPERS.md'), 'utf8').split(`\n## ${heading}\n`)[1]?.split('\n## ')[0]?.split('\n') ??
    []
  /** Tests that a line names, and that are among those that run. */
  const testsIn = (line: string): readonly string[] =>
    [...line.matchAll(/`(tests\/[\w./-]+\.(?:test|look|spec)\.ts|tests\/fuzz\/cases\.ts)`/g)].map(
      ([, path = '']) => path,
    )

  it('names for each fault what comes of it, and a test that there is', () => {
    const [, , ...rows] = part('Threats and defences').filter(line => line.startsWith('|'))
    expect(rows.length).toBeGreaterThan(25)
    for (const row of rows) {
      const [, fault = '', outcome = '', test = '', ...more] = row.split(/(?<!\\)\|/)
      expect([row, more.length, fault.trim() !== '', outcome.trim() !== '']).toEqual([row, 1, true, true])
      const named = testsIn(test)
      // Everything in backquotes is such a test, but for a script that runs one.
      const quoted = [...test.matchAll(/`([^`]+)`/g)].map(([, text = '']) => text)
      expect([row, quoted.filter(text => !text.startsWith('npm run '))]).toEqual([row, named])
      expect(named.length, row).toBeGreaterThan(0)
      for (const path of named)
        expect(readFileSync(join(root, path), 'utf8'), path).toMatch(/\bit(?:\.\w+)*\(|target: '/)
    }
  })

  it('names for each invariant a test that there is', () => {
    const numbered = part('Invariants')
      .join('\n')
      .split(/\n(?=\d+\. )/)
      .filter(text => /^\d+\. /.test(text))
    expect(numbered.length).toBeGreaterThan(20)
    expect(numbered.filter(text => testsIn(text).length === 0)).toEqual([])
  })

  it('names scripts that there are', () => {
    const { scripts } = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8')) as { readonly scripts: object }
    const asked = [...readFileSync(join(root, 'DEVELOPERS.md'), 'utf8').matchAll(/npm run ([\w:]+)/g)].map(
      ([, name]) => name,
    )
    expect(asked.length).toBeGreaterThan(5)
    expect(asked.filter(name => !Object.keys(scripts).includes(name ?? ''))).toEqual([])
  })
})
