import { existsSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { checks } from '../../server/service.ts'
import { readSources, root } from '../harness/sources.ts'

interface Setting {
  readonly description?: string
  readonly markdownDescription?: string
  readonly default?: unknown
  readonly propertyNames?: { readonly enum: readonly string[] }
}

const manifest = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8')) as {
  readonly icon: string
  readonly files: readonly string[]
  readonly capabilities: Readonly<Record<string, { readonly supported: unknown; readonly description?: string }>>
  readonly contributes: {
    readonly commands: readonly { readonly command: string; readonly category: string; readonly title: string }[]
    readonly configuration: { readonly properties: Readonly<Record<string, Setting>> }
    readonly configurationDefaults: Readonly<Record<string, Readonly<Record<string, unknown>>>>
    readonly walkthroughs: readonly {
      readonly steps: readonly { readonly description: string; readonly completionEvents: readonly string[] }[]
    }[]
    readonly menus: Readonly<Record<string, readonly { readonly command: string; readonly when?: string }[]>>
  }
}
const { contributes } = manifest
const clientText = readSources(path => path.startsWith('client/') && path.endsWith('.ts'))
  .map(source => source.text)
  .join('\n')

describe('the manifest', () => {
  it('names only files that are there, and packs them', () => {
    const named = [...JSON.stringify(manifest).matchAll(/"(?:\.\/)?((?:client|grammar)\/[^"*]+\.[a-z]+)"/gi)].map(
      ([, path]) => path ?? '',
    )
    expect(named.length).toBeGreaterThan(8)
    expect(named.filter(path => !existsSync(join(root, path)))).toEqual([])
    const packed = manifest.files.map(
      glob =>
        new RegExp(
          `^${glob
            .replace(/[.]/g, '\\.')
            .replace(/\*\*\//g, '(?:.*/)?')
            .replace(/(?<![.)])\*/g, '[^/]*')}$`,
        ),
    )
    expect(named.filter(path => !packed.some(glob => glob.test(path)))).toEqual([])
  })

  it('has every command of the client, and no other, in one category', () => {
    const registered = [...clientText.matchAll(/registerCommand\(\s*'([^']+)'/g)].map(([, command]) => command)
    expect(contributes.commands.map(one => one.command).sort()).toEqual(registered.sort())
    expect(new Set(contributes.commands.map(one => one.category))).toEqual(new Set(['Detent']))
  })

  it('describes every setting and its default', () => {
    for (const [name, setting] of Object.entries(contributes.configuration.properties)) {
      expect(name).toMatch(/^detent\.[a-zA-Z]+\.[a-zA-Z]+$/)
      expect((setting.description ?? setting.markdownDescription ?? '').length, name).toBeGreaterThan(20)
      expect(setting.default, name).toBeDefined()
    }
  })

  it('knows every check for its severity', () => {
    const setting = contributes.configuration.properties['detent.checks.severity']
    expect(setting?.propertyNames?.enum).toEqual(checks.map(check => check.code))
  })

  it('makes this formatter the default and formats on save', () => {
    expect(contributes.configurationDefaults['[detent]']).toMatchObject({
      'editor.defaultFormatter': 'detent.detent',
      'editor.formatOnSave': true,
    })
  })

  it('shows figures at line ends by default', () => {
    expect(contributes.configurationDefaults['[detent]']).toMatchObject({
      'editor.inlayHints.enabled': 'onUnlessPressed',
    })
  })

  it('lets no list of completions take the key that ends a line, and shows which key takes an item', () => {
    expect(contributes.configurationDefaults['[detent]']).toMatchObject({
      'editor.acceptSuggestionOnEnter': 'off',
      'editor.suggest.showStatusBar': true,
    })
  })

  it('works where a workspace is not trusted, and where it is virtual', () => {
    // Limited: git is not started there. The editor says so where it lists extensions.
    expect(manifest.capabilities.untrustedWorkspaces?.supported).toBe('limited')
    expect(manifest.capabilities.untrustedWorkspaces?.description).toContain('git')
    expect(manifest.capabilities.virtualWorkspaces?.supported).toBe(true)
  })

  it('has menus whose commands exist, and which are there only where they fit', () => {
    const known = contributes.commands.map(one => one.command)
    const entries = Object.entries(contributes.menus)
    expect(entries.flatMap(([, list]) => list).filter(({ command }) => !known.includes(command))).toEqual([])
    const everywhere = entries.filter(([menu]) => menu !== 'file/newFile').flatMap(([, list]) => list)
    expect(everywhere.filter(({ when }) => when === undefined)).toEqual([])
    expect(contributes.menus['file/newFile']?.map(({ command }) => command)).toEqual(['detent.newFile'])
  })

  it('ticks every step of the walkthrough off by what is done in it', () => {
    const events = contributes.walkthroughs.flatMap(one => one.steps.map(({ completionEvents }) => completionEvents))
    expect(events.filter(list => list.length === 0)).toEqual([])
    const known = contributes.commands.map(one => one.command)
    for (const event of events.flat()) {
      const [kind, what = ''] = event.split(':')
      if (kind === 'onCommand') expect(known).toContain(what)
      // Set by the client when it is done.
      else expect([kind, clientText.includes(`'${what}'`)]).toEqual(['onContext', true])
    }
  })

  it('has a walkthrough whose commands exist', () => {
    const linked = contributes.walkthroughs
      .flatMap(one => one.steps)
      .flatMap(step => [...step.description.matchAll(/\(command:([^)]+)\)/g)].map(([, command]) => command))
    expect(linked.length).toBeGreaterThan(0)
    const known = contributes.commands.map(one => one.command)
    expect(linked.filter(command => !known.includes(command ?? ''))).toEqual([])
  })
})
