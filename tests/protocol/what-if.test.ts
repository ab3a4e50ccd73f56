import { describe, expect, it } from 'vitest'
import { CancellationTokenSource, type CompletionItem, type Range } from 'vscode-languageserver/node'
import { bench, dailyText } from '../features/bench.ts'
import type { ClientOptions, TestClient } from '../harness/client.ts'
import { testClients } from './test-clients.ts'

const folder = 'memory://bench/'
const uri = `${folder}daily.detent`
const text = `detent 1
use "bench.detent"

${dailyText(['voltage { core needs + 30 mV }', 'expect render holds >= 4.9 GHz'], ['1 to 2 cores   55x', '3 to 12 cores  50x'])}
profile night based-on daily {
  steps { 1 to 12 cores 49x }
}
`
const lineOf = (mark: string): number => text.split('\n').findIndex(one => one.includes(mark))

const started = testClients()

async function start(options: ClientOptions = {}): Promise<TestClient> {
  const client = await started({
    folders: [folder],
    files: { [`${folder}bench.detent`]: bench, [uri]: text },
    ...options,
  })
  await client.open(uri, text)
  return client
}

interface Effect {
  readonly markdown: string
  readonly glances: readonly { readonly profile: string; readonly text: string }[]
  readonly marks: readonly { readonly uri: string; readonly line: number; readonly text: string }[]
  readonly courses: readonly { readonly name: string; readonly isFollowed: boolean; readonly range: Range }[]
}

const ask = ({ request }: TestClient, field: string, profile?: string): Promise<Effect> =>
  request<Effect>('detent/whatIf', { uri, field, ...(profile === undefined ? {} : { profile }) })

describe('What If', () => {
  it('says beside the lines of the file what the statements would change, and leaves the file alone', async () => {
    const client = await start()
    const { markdown, glances, marks } = await ask(client, 'steps { 3 to 12 cores 48x }\n', 'daily')
    expect(glances).toEqual([{ profile: 'daily', text: expect.stringMatching(/^1 setting, render -0\.20 GHz/) }])
    expect(marks).toContainEqual({ uri, line: lineOf('profile daily'), text: glances[0]?.text })
    expect(marks).toContainEqual({ uri, line: lineOf('3 to 12 cores'), text: '4.80 GHz' })
    expect(marks).toContainEqual({
      uri,
      line: lineOf('expect render holds'),
      text: expect.stringMatching(/^4\.8 GHz, fails$/),
    })
    expect(markdown.replaceAll('\u00a0', ' ')).toMatch(
      /^# What if: 1 of 1 profile differs\n\nStatement, written nowhere: `steps \{ 3 to 12 cores 48x \}`\n/,
    )
    expect(markdown).toMatch(/\| setting +\| now +\| what if +\|/)
    expect(markdown).toContain('would fail')
    // Once more with nothing in the field: what was laid over the bench is gone.
    const nothing = await ask(client, '# only a remark\n', 'daily')
    expect(nothing.glances).toEqual([{ profile: 'daily', text: 'nothing changes' }])
    expect(await client.diagnostics(uri)).toEqual([])
  })

  it('says beside a course what it would come to with other lines, and of a new one beside the profile', async () => {
    const client = await start()
    const own = `${text}\ncourse stint {\n  pair 5 s\n  render 5 s\n}\n`
    await client.change(uri, 2, [{ text: own }])
    const { glances, marks, markdown } = await ask(client, 'course stint { render 25 s }', 'daily')
    expect(glances).toEqual([
      {
        profile: 'daily',
        text: expect.stringMatching(/^course stint ends after 30 s, die up to [\d.]+ °C, plate down to/),
      },
    ])
    const line = own.split('\n').indexOf('course stint {')
    expect(marks).toContainEqual({ uri, line, text: expect.stringMatching(/^daily: ends after 30 s, die up to/) })
    expect(markdown.replaceAll('\u00a0', ' ')).toMatch(
      /## Course stint on daily\n\n- Now: ends after 10 s, die up to [\d.]+ °C.*\n- What if: ends after 30 s/,
    )
    const fresh = await ask(client, 'course late { start room; pair 5 s }', 'daily')
    expect(fresh.glances[0]?.text).toMatch(/^course late ends after 5 s/)
    const same = await ask(client, 'course stint { render 5 s }', 'daily')
    expect(same.glances).toEqual([{ profile: 'daily', text: 'nothing changes' }])
    const long = await ask(client, 'course stint { render 23 h; pair 5 h }', 'daily')
    expect(long.glances[0]?.text).toMatch(/1 new finding, course stint not followed: course `stint` may last 28 h/)
  })

  it('follows a course that nothing is laid over only once it is asked for, and says whether it did', async () => {
    const client = await start()
    const own = `${text}\ncourse stint {\n  pair 5 s\n  render 5 s\n}\ncourse other {\n  pair 5 s\n}\n`
    await client.change(uri, 2, [{ text: own }])
    const line = own.split('\n').indexOf('course stint {')
    const field = 'room garage { air 35 °C }'
    const request = (courses: unknown): Promise<Effect> =>
      client.request<Effect>('detent/whatIf', { uri, field, profile: 'daily', courses })
    const states = ({ courses }: Effect) => courses.map(({ name, isFollowed }) => [name, isFollowed])
    const ofCourses = ({ marks }: Effect) =>
      marks.filter(one => /^daily: ends after /.test(one.text)).map(one => one.line)
    for (const nothing of [undefined, [], ['nowhere'], 'stint', { stint: true }]) {
      const found = await request(nothing)
      expect([states(found), ofCourses(found)]).toEqual([
        [
          ['stint', false],
          ['other', false],
        ],
        [],
      ])
      expect(found.courses[0]?.range).toEqual({ start: { line, character: 0 }, end: { line: line + 3, character: 1 } })
    }
    const one = await request(['stint'])
    expect([states(one), ofCourses(one)]).toEqual([
      [
        ['stint', true],
        ['other', false],
      ],
      [line],
    ])
    expect(one.markdown).toContain('## Course stint on daily')
    expect(ofCourses(await request(true))).toEqual([line, line + 4])
    // What an expectation asks of a course is known without more.
    const expected = own.replace('expect render', 'expect course stint die <= 60 °C\n  expect render')
    await client.change(uri, 3, [{ text: expected }])
    const found = await request(undefined)
    expect(states(found)[0]).toEqual(['stint', true])
    expect(ofCourses(found)).toEqual([line + 1])
  })

  it('answers the next statement while courses are followed for the one before, which is taken back', async () => {
    const client = await start()
    await client.change(uri, 2, [{ text: `${text}\ncourse day { start room; render 12 h; pair 12 h }\n` }])
    const source = new CancellationTokenSource()
    const long = client.connection.sendRequest(
      'detent/whatIf',
      { uri, field: 'vector -1x', courses: true },
      source.token,
    )
    const ended = expect(long).rejects.toThrow()
    await new Promise(resolve => setTimeout(resolve, 30))
    source.cancel()
    await ended
    const { glances } = await ask(client, 'steps { 3 to 12 cores 48x }', 'daily')
    expect(glances[0]?.text).toMatch(/^1 setting, render -0\.20 GHz/)
  })

  it('holds the worst corner of another room against the worst of this one', async () => {
    const client = await start()
    const margins = async (field: string): Promise<readonly number[]> => {
      const { glances } = await ask(client, field, 'daily')
      return [...(glances[0]?.text ?? '').matchAll(/(-?\d+) W margin/g)].map(([, watts]) => Number(watts))
    }
    const [warmer = Number.NaN] = await margins('room garage { air 35 °C }\n')
    const [cooler = Number.NaN] = await margins('room garage { air 5 °C }\n')
    expect(warmer).toBeLessThan(-5)
    expect(cooler).toBeGreaterThan(5)
  })

  it('takes statements line by line, the later over the earlier, for all profiles where none is named', async () => {
    const client = await start()
    const { glances, markdown } = await ask(client, 'vector -1x\n\nroom garage {\n  air 35 °C\n}\nvector -2x\n')
    expect(glances.map(({ profile }) => profile)).toEqual(['daily', 'night'])
    expect(markdown).toContain('Statement 3, written nowhere')
  })

  it('follows the text as it is typed', async () => {
    const client = await start()
    await client.change(uri, 2, [{ text: text.replace('3 to 12 cores  50x', '3 to 12 cores  48x') }])
    const { glances } = await ask(client, 'steps { 3 to 12 cores 48x }', 'daily')
    expect(glances).toEqual([{ profile: 'daily', text: 'nothing changes' }])
  })

  it.each([
    [
      'vector -1x\nlimits { die 95 }',
      { start: { line: 1, character: 13 }, end: { line: 1, character: 15 } },
      'no unit',
    ],
    ['room = attic', { start: { line: 0, character: 0 }, end: { line: 0, character: 4 } }, 'there is no room attic'],
    ['\n  profile x { }', { start: { line: 1, character: 2 }, end: { line: 1, character: 9 } }, 'cannot be overlaid'],
    ['limits {\n  die 95 °C\n', { start: { line: 0, character: 0 }, end: { line: 0, character: 6 } }, 'never closed'],
  ])('says of %j where it does not read, in the field', async (field, range, message) => {
    const client = await start()
    const found = await client.request<{ unread?: unknown }>('detent/whatIf', { uri, field, profile: 'daily' })
    expect(found).toEqual({ unread: { range, message: expect.stringContaining(message) } })
  })

  it.each([
    [{ uri, field: 'vector -1x', profile: 'noon' }, 'There is no profile noon in its file any more.'],
    [{ uri: `${folder}gone.detent`, field: 'vector -1x' }, 'The file is not open here.'],
    [{ uri }, 'No file and no statement are named.'],
    [null, 'No file and no statement are named.'],
  ])('says in one line what %j lacks', async (params, trouble) => {
    const { request } = await start()
    expect(await request('detent/whatIf', params)).toEqual({ trouble })
  })

  const labels = async (client: TestClient, field: string, profile?: string): Promise<readonly string[]> => {
    const at = field.indexOf('|')
    const lines = field.slice(0, at).split('\n')
    const items = await client.request<CompletionItem[]>('detent/whatIfCompletion', {
      uri,
      profile,
      field: field.replace('|', ''),
      position: { line: lines.length - 1, character: lines.at(-1)?.length ?? 0 },
    })
    return items.map(({ label }) => label)
  }

  it('completes in the field as in the profile, and in definitions', async () => {
    const client = await start()
    const first = await labels(client, '|', 'daily')
    expect(first).toEqual(expect.arrayContaining(['limits', 'vector', 'steps', 'room', 'load', 'board']))
    expect(await labels(client, 'vector -1x\nlimits { |', 'daily')).toContain('sustained-power')
    expect(await labels(client, 'room |', 'daily')).toContain('garage')
    expect(await labels(client, 'room garage {\n  |\n}', 'daily')).toContain('humidity')
    expect(await labels(client, 'limits { die 95 |', 'daily')).toContain('°C')
    expect(first).toContain('course')
    expect(await labels(client, 'course late { |', 'daily')).toEqual(
      expect.arrayContaining(['start', 'fault', 'render']),
    )
    // The file itself is as it was.
    expect((await ask(client, '', 'daily')).glances).toEqual([{ profile: 'daily', text: 'nothing changes' }])
  })

  it('replaces what stands in the field', async () => {
    const client = await start()
    const field = 'vector -1x\nlimits { sus'
    const items = await client.request<CompletionItem[]>('detent/whatIfCompletion', {
      uri,
      profile: 'daily',
      field,
      position: { line: 1, character: 12 },
    })
    expect(items.find(({ label }) => label === 'sustained-power')?.textEdit).toMatchObject({
      range: { start: { line: 1, character: 9 }, end: { line: 1, character: 12 } },
    })
  })

  it('is the plain text of a command for any client', async () => {
    const client = await start()
    const command = 'detent.server.whatIf'
    expect(client.initialized.capabilities.executeCommandProvider?.commands).toContain(command)
    const found = await client.request<string>('workspace/executeCommand', {
      command,
      arguments: [uri, 'daily', 'steps { 3 to 12 cores 48x }'],
    })
    expect(found).toMatch(/^# What if: 1 of 1 profile differs\n/)
    // Whoever asks once gets all of it.
    await client.change(uri, 2, [{ text: `${text}\ncourse stint { pair 5 s }\n` }])
    const room = 'room garage { air 35 °C }'
    const followed = await client.request<string>('workspace/executeCommand', {
      command,
      arguments: [uri, 'daily', room],
    })
    expect(followed).toContain('## Course stint on daily')
    const said = client.log.filter(({ message }) => JSON.stringify(message).includes('window/showMessage'))
    expect(JSON.stringify(said)).toMatch(/Detent: what if: daily: 1 setting, render -0\.20 GHz.*Not written\./)
    await expect(
      client.request('workspace/executeCommand', { command, arguments: [uri, 'daily', 'limits { die 95 }'] }),
    ).rejects.toThrow('line 1, column 14: `95` has no unit')
  })
})
