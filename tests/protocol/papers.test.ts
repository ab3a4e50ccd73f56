import { writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { uriOfPath } from '../../server/workspace/node-files.ts'
import { bench, dailyText } from '../features/bench.ts'
import type { ClientOptions, TestClient } from '../harness/client.ts'
import { temporaryFolder } from '../harness/process.ts'
import { commitFiles, startRepository } from '../harness/repository.ts'
import { testClients } from './test-clients.ts'

const folder = 'memory://bench/'
const uri = `${folder}daily.detent`
const daily = `detent 1
use "bench.detent"

${dailyText(['voltage { core needs + 30 mV }'], ['1 to 2 cores   55x', '3 to 12 cores  50x'])}
profile night based-on daily {
  steps {
    1 to 2 cores   54x
    3 to 12 cores  49x
  }
}
`
const runs = `detent 1
use "daily.detent"

run one of daily under render {
  score 100 "points" higher
  score 101 "points" higher
}

run two of night under render {
  score 90 "points" higher
  score 91 "points" higher
}
`

type Paper =
  | { readonly markdown: string; readonly html?: string; readonly trouble?: undefined }
  | { readonly trouble: string }

const started = testClients()

async function start(options: ClientOptions = {}): Promise<TestClient> {
  return started({
    folders: [folder],
    files: { [`${folder}bench.detent`]: bench, [uri]: daily, [`${folder}runs.detent`]: runs },
    ...options,
  })
}

const troubleOf = (paper: Paper): string | undefined => paper.trouble

describe('the list of profiles', () => {
  it('has those of all files', async () => {
    const { request } = await start()
    expect(await request('detent/profiles', {})).toEqual({
      profiles: ['daily', 'night'].map(profile => ({ uri, profile })),
      revisions: true,
    })
  })
})

describe('the entry sheet', () => {
  it('is there as Markdown and as a page', async () => {
    const { request } = await start()
    const paper = await request<Paper>('detent/sheet', { profile: { uri, profile: 'daily' } })
    expect(paper).toMatchObject({ markdown: expect.stringMatching(/^# Entry sheet: daily\n/) })
    // No line of a narrow column ends between a value and its unit.
    expect(paper).toMatchObject({ markdown: expect.stringMatching(/\*\*\d\.\d{3}\u00a0V\*\*/) })
    expect(paper).toMatchObject({ markdown: expect.not.stringMatching(/\d (?:V|W|°C|K|A)\b/) })
    expect(paper).toMatchObject({ html: expect.stringContaining('<title>Entry sheet: daily</title>') })
  })

  it('is of the text as it is typed, and of what differs', async () => {
    const { request, open } = await start()
    await open(uri, daily.replace('49x', '48x'))
    const paper = await request<Paper>('detent/sheet', {
      profile: { uri, profile: 'night' },
      from: { uri, profile: 'daily' },
    })
    expect(paper).toMatchObject({ markdown: expect.stringMatching(/\| 3 cores +\| \*\*48x\*\* +\| 50x +\|/) })
  })

  it.each([
    [{ profile: { uri, profile: 'noon' } }, 'There is no profile noon in its file any more.'],
    [
      { profile: { uri: 'memory://bench/gone.detent', profile: 'daily' } },
      'There is no profile daily in its file any more.',
    ],
    [{ profile: 'daily' }, 'No profile is named.'],
    [{ profile: { uri, profile: 'daily' }, from: 7 }, 'No profile is named.'],
    [
      { profile: { uri, profile: 'daily' }, from: { uri, profile: 'daily', revision: 'HEAD' } },
      'files of this machine only',
    ],
    [{}, 'No profile is named.'],
  ])('says what %j lacks', async (params, trouble) => {
    const { request } = await start()
    expect(troubleOf(await request<Paper>('detent/sheet', params))).toContain(trouble)
  })
})

describe('profiles side by side', () => {
  it('come with the runs of every file', async () => {
    const { request } = await start()
    const profiles = ['daily', 'night'].map(profile => ({ uri, profile }))
    const paper = await request<Paper>('detent/compare', { profiles })
    expect(paper).toMatchObject({ markdown: expect.stringMatching(/^# night against daily\n/) })
    expect(paper).toMatchObject({
      markdown: expect.stringContaining('night against daily: worse, and by more than noise'),
    })
    expect(troubleOf(await request<Paper>('detent/compare', { profiles: profiles.slice(1) }))).toContain(
      'two or more profiles',
    )
    expect(troubleOf(await request<Paper>('detent/compare', {}))).toContain('two or more profiles')
  })

  it('are there at a git revision, as the sheet of what has changed since is', async () => {
    using disk = temporaryFolder({})
    startRepository(disk.path)
    commitFiles(disk.path, { 'bench.detent': bench, 'daily.detent': daily })
    const now = daily.replace('55x', '56x')
    writeFileSync(join(disk.path, 'daily.detent'), now)
    const file = uriOfPath(join(disk.path, 'daily.detent'))
    const { request } = await start({ folders: [uriOfPath(disk.path)] })
    const own = { uri: file, profile: 'daily' }
    const sheet = await request<Paper>('detent/sheet', { profile: own, from: { ...own, revision: 'HEAD' } })
    expect(sheet).toMatchObject({ markdown: expect.stringMatching(/\| 1 core +\| \*\*56x\*\* +\| 55x +\|/) })
    const compared = await request<Paper>('detent/compare', { profiles: [{ ...own, revision: 'HEAD' }, own] })
    expect(compared).toMatchObject({ markdown: expect.stringMatching(/\| steps 1 to 2 cores +\| 55x +\| 56x +\|/) })
    const gone = await request<Paper>('detent/sheet', { profile: own, from: { ...own, revision: 'no-such' } })
    expect(troubleOf(gone)).toBe('There is no revision no-such in this git repository.')
  })
})
