import { describe, expect, it } from 'vitest'
import { CancellationTokenSource, type ClientCapabilities } from 'vscode-languageserver/node'
import { bench } from '../features/bench.ts'
import { type ClientOptions, eventually, modernCapabilities, type TestClient } from '../harness/client.ts'
import { during, fakeClock } from '../harness/fake-clock.ts'
import { testClients } from './test-clients.ts'

/**
 * Work that passes a second is reported. That what is reported is of the protocol, begins once, ends, and goes only to a client
 * that shows it, is held by the check of all messages at the end of each test.
 */

const folder = 'memory://bench/'
const names = Array.from({ length: 60 }, (_, index) => `${folder}file-${String(index).padStart(2, '0')}.detent`)
const files = Object.fromEntries(names.map(name => [name, `detent 1\nroom r {\n  air 20,5 °C\n  humidity 50 %\n}\n`]))
const showing: ClientCapabilities = { ...modernCapabilities, window: { workDoneProgress: true } }

const started = testClients()

fakeClock()

async function start(options: ClientOptions): Promise<TestClient> {
  const client = await during(started({ folders: [folder], files, ...options }))
  return { ...client, request: (method, params) => during(client.request(method, params)) }
}

const pause = (ms: number): Promise<void> => new Promise(resolve => setTimeout(resolve, ms))

interface Value {
  readonly kind: string
  readonly title?: string
  readonly message?: string
}

/** What was reported by a token, or of all work with a title. */
function told({ log }: TestClient, of: string): readonly Value[] {
  const progress = log.flatMap(({ message }) => {
    const { method, params } = message as { method?: string; params?: { token: string; value: Value } }
    return method === '$/progress' && params !== undefined ? [params] : []
  })
  const tokens = new Set(progress.filter(one => one.token === of || one.value.title === of).map(one => one.token))
  return progress.filter(one => tokens.has(one.token)).map(one => one.value)
}

const kinds = (values: readonly Value[]): string => values.map(one => one.kind.charAt(0)).join('')

/** A client whose settings come as late as it is said. */
const late = (ms: number) => ({ settings: () => pause(ms).then(() => null) })

describe('reading the folders', () => {
  it('is reported when it takes long, with how many files are read', async () => {
    const own = await start({
      capabilities: showing,
      beforeReading: uri => pause(uri === names[7] ? 2200 : uri > (names[30] ?? '') ? 1700 : 0),
    })
    await own.request('workspace/symbol', { query: 'r' })
    const values = await during(
      eventually('the end', () => {
        const now = told(own, 'Reading the folders')
        return now.at(-1)?.kind === 'end' ? now : undefined
      }),
    )
    expect(kinds(values)).toMatch(/^br+e$/)
    expect(values[0]?.message).toBe('30 of 60 files')
    expect(values.filter(one => one.kind === 'report').map(one => one.message)).toContain('59 of 60 files')
  })

  it('is not reported when it does not, nor to a client that shows nothing', async () => {
    const quick = await start({ capabilities: showing })
    await quick.request('workspace/symbol', { query: 'r' })
    await during(pause(1200))
    expect(told(quick, 'Reading the folders')).toEqual([])
    const mute = await start({ beforeReading: () => pause(1200) })
    await mute.request('workspace/symbol', { query: 'r' })
    const methods = mute.log.map(({ message }) => (message as { method?: string }).method)
    expect(methods.filter(one => one?.toLowerCase().includes('progress'))).toEqual([])
  })

  it('goes on where the client gives no token after all', async () => {
    const own = await start({ capabilities: showing, beforeReading: () => pause(1400) })
    own.connection.onRequest('window/workDoneProgress/create', () => {
      throw new Error('no room')
    })
    expect(await own.request<unknown[]>('workspace/symbol', { query: 'r' })).toHaveLength(names.length)
    expect(told(own, 'Reading the folders')).toEqual([])
  })
})

describe('checking the folders', () => {
  const previousResultIds: readonly never[] = []
  interface Report {
    readonly items: readonly { readonly uri: string; readonly items: readonly unknown[] }[]
  }

  it('is reported by the token of the request', async () => {
    const own = await start(late(1300))
    const { items } = await own.request<Report>('workspace/diagnostic', { previousResultIds, workDoneToken: 'mine' })
    expect(items).toHaveLength(names.length)
    const values = told(own, 'mine')
    expect(kinds(values)).toMatch(/^br*e$/)
    expect(values[0]).toEqual({ kind: 'begin', title: 'Checking the folders', message: '0 of 60 files' })
    // The token is the request's: nothing comes by it once that is answered.
    const isAnswer = ({ message }: { message: unknown }): boolean =>
      Array.isArray((message as { result?: Report }).result?.items)
    const isEnd = ({ message }: { message: unknown }): boolean => JSON.stringify(message).includes('"kind":"end"')
    expect(own.log.findIndex(isEnd)).toBeLessThan(own.log.findIndex(isAnswer))
  })

  it('is reported by a token of its own where there is none', async () => {
    const own = await start({ capabilities: showing, ...late(1300) })
    await own.request('workspace/diagnostic', { previousResultIds })
    const ended = await during(
      eventually('the end', () => (told(own, 'Checking the folders').at(-1)?.kind === 'end' ? true : undefined)),
    )
    expect(ended).toBe(true)
  })

  it('is not reported when it is quick', async () => {
    const own = await start({ capabilities: showing })
    await own.request('workspace/diagnostic', { previousResultIds, workDoneToken: 'mine' })
    await during(pause(1200))
    expect(own.log.filter(({ message }) => (message as { method?: string }).method === '$/progress')).toEqual([])
  })

  it('ends when it is taken back', async () => {
    const own = await start(late(1500))
    const source = new CancellationTokenSource()
    const params = { previousResultIds, workDoneToken: 'mine' }
    const asked = own.connection.sendRequest('workspace/diagnostic', params, source.token)
    await during(eventually('the beginning', () => (told(own, 'mine').length > 0 ? true : undefined)))
    source.cancel()
    await expect(during(asked)).rejects.toThrow()
    expect(kinds(told(own, 'mine'))).toBe('be')
  })

  it('comes in parts where the client takes them so', async () => {
    const own = await start({})
    // Everything is read by then.
    await own.request('workspace/symbol', { query: 'r' })
    const parts: Report[] = []
    own.log.length = 0
    const whole = await own.request<Report>('workspace/diagnostic', { previousResultIds })
    const rest = await own.request<Report>('workspace/diagnostic', { previousResultIds, partialResultToken: 'parts' })
    for (const { message } of own.log) {
      const { method, params } = message as { method?: string; params?: { token: string; value: Report } }
      if (method === '$/progress' && params?.token === 'parts') parts.push(params.value)
    }
    expect(rest).toEqual({ items: [] })
    expect(parts.map(({ items }) => items.length)).toEqual([50, 10])
    expect(parts.flatMap(({ items }) => items)).toEqual(whole.items)
  })
})

describe('logs and what rests on them', () => {
  const runs = `${bench}
profile daily {
  part sample-b7
  cooler big-loop
  room garage
  steps { 1 to 12 cores 50x }
}

run evening of daily under render {
  log "evening.csv" { column power "package" W; column die "hot spot" °C }
}
`
  const uri = `${folder}runs.detent`
  const csv = `${folder}evening.csv`
  const slow = {
    capabilities: showing,
    files: { [uri]: runs, [csv]: `package,hot spot\n${'180,64\n'.repeat(2400)}` },
    beforeReading: (asked: string) => pause(asked === csv ? 1300 : 0),
  }

  it('is reported while a log is read', async () => {
    const own = await start(slow)
    await during(own.open(uri, runs))
    const values = await during(
      eventually('the end', () => {
        const now = told(own, 'Reading logs')
        return now.at(-1)?.kind === 'end' ? now : undefined
      }),
    )
    expect(values[0]?.message).toBe('0 of 1 log')
  })

  it.each([
    ['detent/report', { profiles: [] }, 'Writing the report', /^\d+ of \d+ (files?|profiles?|runs?)$/],
    ['detent/fit', { uri, part: 'sample-b7' }, 'Fitting sample-b7', /^0 of 1 log$/],
    ['detent/runFromLog', { uri, log: csv, profile: 'daily', load: 'render' }, 'Reading the log', undefined],
  ] as const)(
    '%s is reported, by the token that came with it or by one of its own',
    async (method, params, title, message) => {
      const own = await start(slow)
      await own.request(method, { ...params, workDoneToken: 'mine' })
      const values = told(own, 'mine')
      expect(kinds(values)).toMatch(/^br*e$/)
      expect(values[0]?.title).toBe(title)
      if (message !== undefined) expect(values[0]?.message).toMatch(message)
      const other = await start(slow)
      await other.request(method, params)
      await during(eventually('the end', () => (told(other, title).at(-1)?.kind === 'end' ? true : undefined)))
    },
  )

  it('ends where the work fails', async () => {
    const own = await start(slow)
    const failed = await own.request('detent/report', { baseline: 'noon', workDoneToken: 'mine' })
    expect(failed).toEqual({ trouble: 'There is no profile noon any more.' })
    expect(kinds(told(own, 'mine'))).toMatch(/^br*e$/)
  })

  it.each(['detent/report', 'detent/fit'])(
    '%s is left to our own client, which shows by itself that it waits',
    async method => {
      const own = await start({ ...slow, initializationOptions: { showsPapers: true } })
      await own.request(method, { profiles: [], uri, part: 'sample-b7' })
      expect(told(own, 'Writing the report')).toEqual([])
      expect(told(own, 'Fitting sample-b7')).toEqual([])
    },
  )
})
