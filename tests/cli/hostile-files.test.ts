import { spawn, spawnSync } from 'node:child_process'
import { once } from 'node:events'
import { readdirSync, readFileSync, symlinkSync, truncateSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { commandSource, temporaryFolder } from '../harness/process.ts'
import { benchText, detent } from './helpers.ts'

/** Files that a person did not write: what they lead to, what they are, and what is lost where they are written. */

const secret = 'detent 1\n\npart hidden { cores 4\n  needs { secret-word 1 V } }\n'
const secretLog = 'secret-column,other\n1,2\n3,4\n'

const run = (log: string): string =>
  `\nrun old of daily under work {\n  log "${log}" {\n    column power "package" W\n  }\n}\n`

describe('a file leads to none outside of what the call was given', () => {
  it.each(['../secret.detent', '/etc/passwd', '//host.invalid/share/x.detent', '\\\\host.invalid\\share\\x.detent'])(
    'by use "%s"',
    async path => {
      using folder = temporaryFolder({ 'secret.detent': secret, 'own/a.detent': `${benchText()}use "${path}"\n` })
      for (const args of [
        ['own'],
        ['own/a.detent'],
        ['own', '--allow-outside'].slice(0, /^[/\\\\]{2}/.test(path) ? 2 : 1),
      ]) {
        const { out, err } = await detent(folder.path, ['check', ...args])
        expect(out + err).toContain('[use-missing]')
        expect(out + err).not.toMatch(/secret-word|hidden|root:/)
      }
    },
  )

  it.each(['../secret.csv', '/etc/passwd', '//host.invalid/share/x.csv'])('by log "%s"', async path => {
    using folder = temporaryFolder({ 'secret.csv': secretLog, 'own/a.detent': benchText() + run(path) })
    for (const args of [
      ['check', 'own'],
      ['predict', '--runs', 'own'],
      ['report', '--output', 'markdown', 'own'],
    ]) {
      const { out, err } = await detent(folder.path, args)
      expect(out + err).toContain('outside the folders that are open')
      expect(out + err).not.toMatch(/secret-column|root:/)
    }
  })

  it.skipIf(process.platform === 'win32')('by links, whether found in a folder or used', async () => {
    using folder = temporaryFolder({ 'secret.detent': secret, 'secret.csv': secretLog })
    using own = temporaryFolder({ 'a.detent': `${benchText()}use "link.detent"\n${run('link.csv')}` })
    symlinkSync(join(folder.path, 'secret.detent'), join(own.path, 'link.detent'))
    symlinkSync(join(folder.path, 'secret.csv'), join(own.path, 'link.csv'))
    const { code, out, err } = await detent(own.path, ['check'])
    expect(err).toBe('detent: link.detent: it lies outside the folders that are open; left out\n')
    expect(out).toContain('`link.detent` is not opened: it lies outside the folders that are open.')
    expect(out).not.toMatch(/secret|hidden/)
    expect(code).toBe(1)
    const formatted = await detent(own.path, ['format', '--check'])
    expect(formatted.err).toBe('detent: link.detent: it lies outside the folders that are open\n')
    // What a person names they may see.
    expect((await detent(own.path, ['check', 'link.detent'])).out).toContain('secret-word')
  })

  it('unless the person says so, or names what has both', async () => {
    using folder = temporaryFolder({
      'bench.detent': benchText(),
      'mine/a.detent': 'detent 1\nuse "../bench.detent"\n\nprofile own based-on daily { vector -1x }\n',
    })
    const codes = async (...args: string[]): Promise<number> => (await detent(folder.path, ['predict', ...args])).code
    expect(await codes('mine')).toBe(1)
    expect(await codes('mine', '--allow-outside')).toBe(0)
    expect(await codes('mine', 'bench.detent')).toBe(0)
    expect(await codes('.')).toBe(0)
  })
})

describe.skipIf(process.platform === 'win32')('what is no regular file', () => {
  it('is named and left out, wherever it stands, and nothing waits for it', async () => {
    using folder = temporaryFolder({ 'a.detent': `${benchText()}use "pipe.use"\nuse "zero"\n${run('pipe.csv')}` })
    for (const name of ['pipe.detent', 'pipe.use', 'pipe.csv']) spawnSync('mkfifo', [join(folder.path, name)])
    symlinkSync('/dev/zero', join(folder.path, 'zero'))
    const { out, err, code } = await detent(folder.path, ['check'])
    expect(err).toBe('detent: pipe.detent: it is not a regular file; left out\n')
    expect(out).toContain('`pipe.use` is not opened: it is not a regular file.')
    expect(out).toContain('`zero` is not opened: it is not a regular file.')
    expect(out).toContain('It cannot be read: it is not a regular file.')
    expect(code).toBe(1)
    for (const path of ['pipe.detent', '/dev/zero', '/proc/self/fd/0', '/proc/self/environ']) {
      const one = await detent(folder.path, ['check', path])
      expect(one).toMatchObject({ code: 2, out: '' })
      expect(one.err).toMatch(/: (?:it is not a regular file|there is no such file or folder)\n$/)
    }
  })

  it('nor what is larger than 16 MB', async () => {
    using folder = temporaryFolder({ 'a.detent': benchText(), 'large.detent': '' })
    truncateSync(join(folder.path, 'large.detent'), 17 * 1024 * 1024)
    const { err, code } = await detent(folder.path, ['check'])
    expect(err).toBe('detent: large.detent: it has 17 MB, and 16 MB are the most; left out\n')
    expect(code).toBe(1)
  })
})

/** A bench with runs that a fit finds its constants in. */
const figures = [
  ['work', 'clock 4.600 GHz; voltage 1.140 V; power 94.9 W; die 51.8 °C'],
  ['one', 'clock 4.600 GHz; voltage 1.140 V; power 35.1 W; die 35.3 °C'],
  ['half', 'clock 4.600 GHz; voltage 1.140 V; power 35.3 W; die 30.2 °C'],
  ['work', 'clock 4.600 GHz; voltage 1.060 V; power 82.9 W; die 47.6 °C'],
]
const fittable = [
  benchText(),
  '\nload one { cores 1; activity 0.8 }\nload half { cores 2; activity 0.3 }\n',
  ...figures.map(
    ([load, measured], n) =>
      `\nrun r${n} of daily under ${load} {\n  air 20 °C\n  humidity 40 %\n  measured { ${measured} }\n}\n`,
  ),
].join('')
const fit = ['fit', 'a.detent', '--part', 'sample', '--free', 'switching', '--write']

describe('what a person has written is not lost', () => {
  it('when it was saved while a fit was made', async () => {
    using folder = temporaryFolder({ 'a.detent': fittable })
    const path = join(folder.path, 'a.detent')
    const saved = `${fittable}\n# saved meanwhile\n`
    const io = {
      folder: folder.path,
      env: {},
      // The fit is printed before it is written: that is when the person saves.
      out: { isTerminal: false, write: () => writeFileSync(path, saved) },
      err: { isTerminal: false, write: (text: string) => void told.push(text) },
      readInput: async () => new Uint8Array(),
    }
    const told: string[] = []
    const { run: call } = await import('../../server/cli/run.ts')
    const code = await call(fit, io)
    expect({ code, told: told.join('') }).toEqual({
      code: 2,
      told: 'detent: a.detent: not written: it was changed meanwhile\n',
    })
    expect(readFileSync(path, 'utf8')).toBe(saved)
    expect(readdirSync(folder.path)).toEqual(['a.detent'])
  })

  it('when a fit is written into a file that is not UTF-8', async () => {
    using folder = temporaryFolder({})
    const path = join(folder.path, 'a.detent')
    const bytes = Buffer.concat([Buffer.from(fittable), Buffer.from('# 20 \xb0C\n', 'latin1')])
    writeFileSync(path, bytes)
    expect(await detent(folder.path, fit)).toMatchObject({
      code: 2,
      err: 'detent: a.detent: not written: it is not valid UTF-8\n',
    })
    expect(readFileSync(path)).toEqual(bytes)
  })

  it.each(['a.detent', './sub/../a.detent', 'log.csv', 'used.detent', 'new.detent'])(
    'when a report is written to %s',
    async target => {
      const texts = { 'a.detent': `${benchText()}use "used.detent"\n${run('log.csv')}`, 'log.csv': 'package\n180\n' }
      using folder = temporaryFolder({ ...texts, 'used.detent': 'detent 1\n', 'sub/none': '' })
      const { code, err } = await detent(folder.path, ['report', 'a.detent', '--to', target])
      expect(code).toBe(2)
      expect(err).toMatch(
        /not written: (?:it is one of the files that this is made from|a file of that name is a profile)/,
      )
      for (const [name, text] of Object.entries(texts)) expect(readFileSync(join(folder.path, name), 'utf8')).toBe(text)
    },
  )

  it.skipIf(process.platform === 'win32')('when the disk is full under a report', () => {
    using folder = temporaryFolder({ 'a.detent': benchText(), 'page.html': 'the old page' })
    const command = `ulimit -f 4; exec '${process.execPath}' '${commandSource}' report a.detent --to page.html`
    const { stderr } = spawnSync('bash', ['-c', `trap '' XFSZ; ${command}`], { cwd: folder.path, encoding: 'utf8' })
    expect(stderr).toMatch(/^detent: page.html: not written: /)
    expect(readFileSync(join(folder.path, 'page.html'), 'utf8')).toBe('the old page')
    expect(readdirSync(folder.path).sort()).toEqual(['a.detent', 'page.html'])
  })
})

describe.skipIf(process.platform === 'win32')('the server', () => {
  it('ends when it is asked to, whatever the folder holds', async () => {
    using folder = temporaryFolder({ 'a.detent': `${benchText()}use "pipe.use"\n${run('pipe.csv')}` })
    for (const name of ['pipe.detent', 'pipe.use', 'pipe.csv']) spawnSync('mkfifo', [join(folder.path, name)])
    const root = new URL(`file://${folder.path}`).href
    const message = (body: object): string => {
      const text = JSON.stringify({ jsonrpc: '2.0', ...body })
      return `Content-Length: ${Buffer.byteLength(text)}\r\n\r\n${text}`
    }
    const child = spawn(process.execPath, [commandSource, 'language-server', '--stdio'])
    child.stdin.write(
      message({ id: 1, method: 'initialize', params: { processId: null, rootUri: root, capabilities: {} } }) +
        message({ method: 'initialized', params: {} }),
    )
    await once(child.stdout, 'data')
    const text = readFileSync(join(folder.path, 'a.detent'), 'utf8')
    const textDocument = { uri: `${root}/a.detent`, languageId: 'detent', version: 1, text }
    child.stdin.write(message({ method: 'textDocument/didOpen', params: { textDocument } }))
    await new Promise(resolve => setTimeout(resolve, 500))
    child.stdin.write(message({ id: 2, method: 'shutdown' }) + message({ method: 'exit' }))
    const [code] = await once(child, 'exit')
    expect(code).toBe(0)
  })
})
