import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { memoryLogs } from '../../server/bench/log/source.ts'
import { createService, type Service } from '../../server/service.ts'
import { memoryFiles } from '../harness/file-systems.ts'
import { root } from '../harness/sources.ts'

/** What findings rest on is made in steps, and nothing of it twice, though each character asks for it again. */

const folder = join(root, 'grammar/examples/bench')
const address = (name: string): string => `memory://bench/${name}`
const textsOf = (names: readonly string[]): Record<string, string> =>
  Object.fromEntries(names.map(name => [address(name), readFileSync(join(folder, name), 'utf8')]))

const files = textsOf(readdirSync(folder).filter(name => name.endsWith('.detent')))
const logs = textsOf(readdirSync(join(folder, 'logs')).map(name => `logs/${name}`))
const uri = address('runs.detent')

async function loaded(): Promise<Service> {
  const service = createService(memoryFiles(files), { logs: memoryLogs(logs) })
  await service.workspace.load([uri])
  await service.bench.loadLogs(uri)
  return service
}

/** Takes so many steps and leaves the rest; how many there were. */
function prepared(service: Service, most: number): number {
  let count = 0
  for (const _ of service.prepareFindings(uri)) if (++count === most) break
  return count
}

const all = Number.POSITIVE_INFINITY

/** The same text but for a digit within a run, as it is typed. */
function typed(service: Service, version: number): void {
  const text = files[uri] ?? ''
  const at = text.indexOf('score ')
  expect(at).toBeGreaterThan(0)
  service.workspace.set(uri, `${text.slice(0, at)}note "${version}"\n  ${text.slice(at)}`, version)
}

describe('what the findings of runs rest on', () => {
  it('is gone on with after an edit that overtook it', async () => {
    const whole = prepared(await loaded(), all)
    const service = await loaded()
    const half = whole >> 1
    expect(prepared(service, half)).toBe(half)
    typed(service, 2)
    // Some steps are those of what was typed in.
    expect(prepared(service, all)).toBeLessThan(whole - half / 2)
  })

  it('is not made again while something is typed in a run', async () => {
    const service = await loaded()
    const whole = prepared(service, all)
    const before = service.bench.compared(uri).map(({ settled }) => settled)
    expect(before.filter(one => one !== undefined).length).toBeGreaterThan(3)
    typed(service, 2)
    expect(prepared(service, all)).toBeLessThan(whole / 4)
    const after = service.bench.compared(uri).map(({ settled }) => settled)
    expect(after.every((one, index) => one === before[index])).toBe(true)
  })

  it('is made also where a log says something against a part that another file describes', async () => {
    const uri = address('heavy-work.detent')
    const service = createService(memoryFiles(files), { logs: memoryLogs(logs) })
    await service.workspace.load([address('runs.detent')])
    const steps = (): number => [...service.prepareFindings(uri)].length
    expect(steps()).toBeGreaterThan(20)
    const again = steps()
    await service.bench.loadLogs(address('runs.detent'))
    expect(steps()).toBeGreaterThan(again + 20)
    expect(steps()).toBe(again)
  })

  it('comes to the same findings as all at once', async () => {
    const service = await loaded()
    prepared(service, 7)
    typed(service, 2)
    prepared(service, all)
    const fresh = await loaded()
    typed(fresh, 2)
    expect(service.findings(uri)).toEqual(fresh.findings(uri))
  })
})
