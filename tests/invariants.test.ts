import { describe, expect, it } from 'vitest'
import { allFiguresOf, createService } from '../server/service.ts'
import { nodeFiles, pathOfUri, uriOfPath } from '../server/workspace/node-files.ts'
import { memoryFiles } from './harness/file-systems.ts'
import { partText } from './harness/make-text.ts'
import { readSources, root } from './harness/sources.ts'

/** The invariants of DEVELOPERS.md that no other test holds. */

const shipped = readSources(
  path => /^(?:grammar|server|client)\/.*\.ts$/.test(path) && !path.startsWith('client/scripts/'),
)

describe('every cache', () => {
  /** The comment that stands above a line, or above the function that the line is in. */
  function commentAbove(lines: readonly string[], index: number): string {
    const above: string[] = []
    for (let at = index - 1; at >= Math.max(0, index - 12); at--) above.push(lines[at] ?? '')
    return above.join(' ')
  }

  it('names what evicts it', () => {
    const silent: string[] = []
    let caches = 0
    for (const { path, text } of shipped) {
      const lines = text.split('\n')
      lines.forEach((line, index) => {
        if (!/^\s*const \w+ = (?:new WeakMap|keptWhile)\b/.test(line)) return
        caches++
        if (!/evict|goes when/i.test(commentAbove(lines, index))) silent.push(`${path}:${index + 1}`)
      })
    }
    expect(caches).toBeGreaterThan(8)
    expect(silent).toEqual([])
  })
})

describe('nothing of a workspace is executed', () => {
  const forbidden = /child_process|worker_threads|node:vm|\beval\(|new Function\b|\bimport\((?!\s*'\.)/

  /** It starts git, and git alone, to read older texts. */
  const starter = 'server/workspace/git-program.ts'

  /** It runs what is shipped beside it. */
  const ownStart = 'server/cli/start.ts'

  it('by any file that is shipped', () => {
    const offences = shipped.filter(({ text }) => forbidden.test(text)).map(({ path }) => path)
    expect(offences).toEqual([ownStart, starter])
  })

  it('by the one that starts the command: it runs bundles beside itself, and code that was made of those alone', () => {
    const text = shipped.find(({ path }) => path === ownStart)?.text ?? ''
    expect(text.match(/\bcompile\(\w+\)\.run/g)).toEqual(['compile(path).run'])
    expect(text).toContain("if (!name.startsWith('./')) return nodeRequire(name)")
    expect(text).toContain('const path = join(dirname(ownPath), name)')
    expect([...text.matchAll(/new Script\((\w+),/g)].map(found => found[1])).toEqual(['text', 'text'])
    expect(text).toContain('bytes.readUInt32LE(0) === sourceSum')
  })

  it('by the one that starts git: no shell, by the path that was found, and only what reads git’s own store', () => {
    const text = shipped.find(({ path }) => path === starter)?.text ?? ''
    expect(
      [...text.matchAll(/\b(?:exec|execFile|execSync|execFileSync|fork|spawn|spawnSync)\(\s*([^,]*),/g)].map(
        found => found[1],
      ),
    ).toEqual(['program'])
    expect(text).toContain('shell: false')
    expect(text).toContain('cwd: dirname(program)')
    const asking = shipped.filter(one => /\bgit\.ask\(/.test(one.text))
    expect(asking.map(({ path }) => path)).toEqual(['server/workspace/git.ts'])
    const lists = [...(asking[0]?.text ?? '').matchAll(/\[\s*'([a-z]+-[a-z]+)'/g)].map(found => found[1])
    expect(new Set(lists)).toEqual(new Set(['rev-parse', 'rev-list', 'cat-file', 'ls-tree']))
    expect(lists).toHaveLength([...(asking[0]?.text ?? '').matchAll(/\bgit\.ask\(/g)].length)
  })

  it.each(["import { spawn } from 'node:child_process'", 'eval(text)', 'await import(path)', 'new Function(text)'])(
    'and the guard sees %s',
    text => {
      expect(forbidden.test(text)).toBe(true)
    },
  )
})

/** A base with something wrong in every table, and a profile in another file that inherits all of it. */
const base = `detent 1

${partText('sample', {
  cores: '8',
  ratio: '8x to 60x',
  'core-voltage': '0.65 V to 1.20 V',
  'die-limit': '100 °C',
  needs: '{ 40x 1.000 V; 50x 1.250 V }',
  switching: '2.4 nF',
  leakage: '20 W at 1.20 V 60 °C',
  'shared-power': '12 W',
  'idle-power': '9 W',
  'package-resistance': '0.11 K/W',
  'core-resistance': '0.55 K/W',
})}
cooler small kind loop {
  block-resistance 0.05 K/W
  radiator { 40 % 0.30 K/W; 100 % 0.25 K/W }
  rating 60 W
}

room attic { air 20 °C to 35 °C; humidity 50 % to 80 % }

load all { cores 1 to 8; vector yes }

profile hot {
  part sample
  cooler small
  room attic
  steps {
    1 to 4 cores   48x
    6 to 8 cores   54.5x
  }
  bands return 5 K {
    1 to 4 cores   above 60 °C  -1x
    1 to 4 cores   above 55 °C  -3x
  }
  limits {
    die 105 °C
    sustained-power 250 W over 30 s
    burst-power 200 W
  }
  fan { 20 °C 60 %; 40 °C 30 % }
  expect all holds >= 5 GHz
  expect all die <= 70 °C
}
`

const derived = 'detent 1\nuse "base.detent"\n\n# before it\nprofile cooler-night based-on hot {\n  vector -1x\n}\n'

describe('findings of a profile', () => {
  it('stand in the profile’s own lines, in its own file, even where all is inherited', async () => {
    const files = { 'mem://x/base.detent': base, 'mem://x/derived.detent': derived }
    const service = createService(memoryFiles(files))
    await service.workspace.load(Object.keys(files))
    for (const [uri, name] of [
      ['mem://x/base.detent', 'hot'],
      ['mem://x/derived.detent', 'cooler-night'],
    ] as const) {
      const text = files[uri]
      const from = text.indexOf(`profile ${name}`)
      const own = service.findings(uri).filter(({ finding }) => finding.profile === name)
      expect(own.length).toBeGreaterThan(3)
      const outside = own.filter(({ start, end }) => start < from || end > text.length)
      expect(outside.map(({ finding }) => finding.code)).toEqual([])
    }
  })
})

describe('figures in outputs', () => {
  it('are the model’s doubles, untouched', async () => {
    const uri = 'mem://x/base.detent'
    const service = createService(memoryFiles({ [uri]: base }))
    await service.workspace.load([uri])
    const [evaluation] = service.evaluations(uri)
    const shown = allFiguresOf(evaluation!).map(row => [
      row.clock_mhz,
      row.voltage_v,
      row.power_w,
      row.die_c,
      row.margin_w,
    ])
    const settled = evaluation!.predictions.map(({ settled: one }) => [
      ...[one.clockMhz, one.voltageV, one.powerW, one.dieC, one.marginW],
    ])
    expect(shown.length).toBeGreaterThan(10)
    expect(shown).toEqual(settled)
    expect(JSON.parse(JSON.stringify(shown))).toEqual(settled)
  })
})

describe('addresses of files', () => {
  it.each(['a.detent', 'with space.detent', 'ä°😀.detent', '100 %.detent', 'a#b?c.detent', "it's (1)+@&=.detent"])(
    'lead to %s and back in one spelling',
    name => {
      const path = `${root}${name}`
      const uri = uriOfPath(path)
      expect(pathOfUri(uri)).toBe(path)
      expect(uriOfPath(pathOfUri(uri) ?? '')).toBe(uri)
    },
  )

  it('of other schemes have no path, and what cannot be read is not there', async () => {
    expect(pathOfUri('untitled:one')).toBeUndefined()
    expect(await nodeFiles.read('untitled:one')).toBeUndefined()
    expect(await nodeFiles.read(uriOfPath(`${root}no-such-file`))).toBeUndefined()
    expect(await nodeFiles.read(uriOfPath(root))).toEqual({ why: 'it is a folder' })
  })
})
