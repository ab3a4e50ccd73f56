import { writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { revisionAround } from '../../server/workspace/git.ts'
import { uriOfPath } from '../../server/workspace/node-files.ts'
import { benchText } from '../cli/helpers.ts'
import { runDetent, type TemporaryFolder, temporaryFolder } from '../harness/process.ts'
import { commitFiles, startRepository } from '../harness/repository.ts'
import { testClients } from './test-clients.ts'

const started = testClients()

interface View {
  readonly kind?: string
  readonly commits?: boolean
  readonly notice?: string | null
  readonly svg?: string
  readonly text?: string
}

const added = `
profile new based-on daily {
  limits { die 80 °C }
}
`

/** A bench with another ratio at its only commit, and one profile more since. */
async function opened(folder: TemporaryFolder, isTrusted = true) {
  startRepository(folder.path)
  const then = commitFiles(folder.path, { 'a.detent': benchText() })
  const text = `${benchText().replace('46x', '45x')}${added}`
  writeFileSync(join(folder.path, 'a.detent'), text)
  let asked = 0
  const client = await started({
    folders: [uriOfPath(folder.path)],
    initializationOptions: { showsPapers: true, looksUpRevisions: true, isTrusted },
    revisionOf: (file, revision) => {
      asked++
      return revisionAround(file, revision)
    },
  })
  const uri = uriOfPath(join(folder.path, 'a.detent'))
  await client.open(uri, text)
  const at = (profile: string) => {
    const line = text.split('\n').findIndex(one => one.startsWith(`profile ${profile}`))
    expect(line).toBeGreaterThanOrEqual(0)
    return { textDocument: { uri }, position: { line, character: 4 } }
  }
  return {
    client,
    uri,
    text,
    then,
    asked: () => asked,
    view: (profile: string, more: object = {}) =>
      client.request<View>('detent/view', { ...at(profile), width: 760, height: 480, ...more }),
    lookUp: (profile: string, commit: unknown) =>
      client.request<object>('detent/lookUpBeside', { ...at(profile), commit }),
  }
}

describe('a map beside the same profile at a commit', () => {
  it('is drawn once the commit is picked, as the command draws it; typing and pointing start nothing', async () => {
    using folder = temporaryFolder({})
    const { client, uri, text, then, asked, view, lookUp } = await opened(folder)
    const short = then.slice(0, 8)
    expect(await view('daily')).toMatchObject({ kind: 'map', commits: true, notice: null })
    const before = await view('daily', { against: `@${then}` })
    expect(before.notice).toBe(`daily@${short} is not looked up: pick the commit again.`)
    expect(before.svg).not.toContain('class="thin"')
    expect(asked()).toBe(0)

    expect(await lookUp('daily', then)).toEqual({ label: `daily@${short}` })
    expect(asked()).toBe(1)
    const beside = await view('daily', { against: `@${then}` })
    expect(beside.notice).toBeNull()
    expect(beside.svg).toContain(`dashed: daily@${short}`)
    const { text: file } = await view('daily', { against: `@${then}`, as: 'svg' })
    const drawn = runDetent(folder.path, ['draw', 'map', 'daily', '--against', `daily@${short}`]).stdout
    expect(drawn).toContain('class="thin"')
    expect(file?.replaceAll('mark here', 'mark')).toBe(drawn)

    await client.change(uri, 2, [{ text: `${text}# typed\n` }])
    expect((await view('daily', { against: `@${then}` })).svg).toContain(`dashed: daily@${short}`)
    // A profile of the same file that did not stand in it yet.
    const without = await view('new', { against: `@${then}` })
    expect(without.notice).toBe(`Its file had no profile new at ${short}.`)
    expect(without.svg).not.toContain('class="thin"')
    expect(asked()).toBe(1)
  })

  it('says why a commit is not there', async () => {
    using folder = temporaryFolder({})
    const { then, lookUp, view } = await opened(folder)
    for (const commit of ['HEAD', '-x', 7, null])
      expect(await lookUp('daily', commit)).toEqual({ trouble: 'No commit is named.' })
    expect(await lookUp('daily', '0'.repeat(40))).toEqual({ trouble: expect.stringMatching(/no revision 0{40}/) })
    expect(await lookUp('new', then)).toEqual({ trouble: `Its file has no profile new at the revision ${then}.` })
    expect((await view('daily', { against: '@' })).notice).toBeNull()
  })

  it('is not offered where the workspace is not trusted', async () => {
    using folder = temporaryFolder({})
    const { then, asked, lookUp, view } = await opened(folder, false)
    expect((await view('daily')).commits).toBe(false)
    expect(await lookUp('daily', then)).toEqual({
      trouble: 'This workspace is not trusted: git is not started in it.',
    })
    expect((await view('daily', { against: `@${then}` })).svg).not.toContain('class="thin"')
    expect(asked()).toBe(0)
  })
})
