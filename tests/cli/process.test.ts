import { spawn, spawnSync } from 'node:child_process'
import { once } from 'node:events'
import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { commandSource, runDetent, temporaryFolder } from '../harness/process.ts'
import { root } from '../harness/sources.ts'
import { benchText } from './helpers.ts'

describe('the command as a process', () => {
  it('predicts the example bench, and finds it formatted, without an error', () => {
    const folder = join(root, 'grammar', 'examples', 'bench')
    expect(runDetent(folder, ['predict'])).toMatchObject({ code: 0, stderr: '' })
    expect(runDetent(folder, ['format', '--check'])).toMatchObject({ code: 0, stdout: '', stderr: '' })
  })

  it('writes UTF-8', () => {
    using folder = temporaryFolder({ 'a.detent': benchText() })
    expect(runDetent(folder.path, ['predict']).stdout).toContain('20 °C 40 %')
  })

  it('formats from standard input', () => {
    using folder = temporaryFolder({})
    expect(runDetent(folder.path, ['format', '-'], 'load x{cores 2}\n').stdout).toBe('load x { cores 2 }\n')
  })

  it('ends with 2 and one line for a call that cannot be used', () => {
    using folder = temporaryFolder({})
    const { code, stdout, stderr } = runDetent(folder.path, ['check', 'nowhere'])
    expect({ code, stdout, stderr }).toEqual({
      code: 2,
      stdout: '',
      stderr: 'detent: nowhere: there is no such file or folder\n',
    })
  })

  it.skipIf(process.platform === 'win32')('does not mind a reader that stops early', () => {
    using folder = temporaryFolder({ 'a.detent': benchText() })
    const command = `"${process.execPath}" "${commandSource}" check --output sarif | head -n 1`
    const result = spawnSync('bash', ['-o', 'pipefail', '-c', command], { cwd: folder.path, encoding: 'utf8' })
    expect(result.stderr).toBe('')
    expect(result.stdout).toBe('{\n')
  })

  it('answers an editor over standard input and output', async () => {
    using folder = temporaryFolder({})
    const messages = [
      { id: 1, method: 'initialize', params: { processId: null, rootUri: null, capabilities: {} } },
      { method: 'initialized', params: {} },
      { id: 2, method: 'shutdown' },
      { method: 'exit' },
    ].map(message => JSON.stringify({ jsonrpc: '2.0', ...message }))
    const framed = messages.map(body => `Content-Length: ${Buffer.byteLength(body)}\r\n\r\n${body}`)
    const exit = framed[3]
    const input = framed.slice(0, 3)
    // The input stays open, as an editor's does: its end alone would end the server before it had read all.
    const server = spawn(process.execPath, [commandSource, 'language-server', '--stdio'], { cwd: folder.path })
    let stdout = ''
    server.stdout.on('data', piece => {
      stdout += piece
      // Goodbye is said only after the answer, as the protocol wants it.
      if (stdout.includes('"id":2')) server.stdin.write(exit)
    })
    server.stdin.write(input.join(''))
    const [code] = await once(server, 'exit')
    expect(code).toBe(0)
    expect(stdout).toMatch(/^Content-Length: \d+\r\n/)
    expect(stdout).toContain('"capabilities":')
    expect(stdout).toContain('"id":2,"result":null')
  })

  it('changes nothing about a file that it only reads', () => {
    using folder = temporaryFolder({ 'a.detent': benchText() })
    runDetent(folder.path, ['check'])
    runDetent(folder.path, ['predict'])
    expect(readFileSync(join(folder.path, 'a.detent'), 'utf8')).toBe(benchText())
  })
})
