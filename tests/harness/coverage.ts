/** How often fits to whole evenings of logs cover the true constants; in threads, since it is much to do. */

import { isMainThread, parentPort, Worker, workerData } from 'node:worker_threads'
import { createService } from '../../server/service.ts'
import { memoryFiles } from './file-systems.ts'
import { truePart } from './synthetic-points.ts'
import { benchText, evenings, logNames } from './whole-logs.ts'

export interface Coverage {
  /** Evenings in which the constant was fitted, and those in which its 95 % interval has the true one. */
  readonly fitted: Readonly<Record<string, number>>
  readonly covered: Readonly<Record<string, number>>
  /** Logs in which no steady stretch was found. */
  readonly unsteady: number
}

interface Seeds {
  readonly from: number
  /** Not among them. */
  readonly to: number
}

/** Each seed's logs are read, their steady stretches found and the part fitted, as the command does it. */
async function coverageOf({ from, to }: Seeds): Promise<Coverage> {
  const folder = 'file:///evenings/'
  const uri = `${folder}bench.detent`
  const logs = evenings(folder)
  const service = createService(memoryFiles({ [uri]: benchText() }), logs)
  await service.workspace.load([uri])
  const [fitted, covered]: Record<string, number>[] = [{}, {}]
  let unsteady = 0
  for (let seed = from; seed < to; seed++) {
    logs.begin(seed)
    service.bench.forgetLogs(logNames.map(name => folder + name))
    await service.bench.loadLogs(uri)
    const runs = service.bench.compared(uri)
    unsteady += runs.filter(({ windows }) => windows.length === 0).length
    const result = service.bench.fit(uri, 'sample', runs)?.result
    if (result === undefined || !('parameters' in result)) continue
    for (const { parameter, interval } of result.parameters) {
      if (interval === undefined) continue
      const { name, field } = parameter
      const truth = truePart[field as 'switchingNf']
      fitted![name] = (fitted![name] ?? 0) + 1
      if (truth >= interval[0] && truth <= interval[1]) covered![name] = (covered![name] ?? 0) + 1
    }
  }
  return { fitted: fitted!, covered: covered!, unsteady }
}

const sum = (a: Readonly<Record<string, number>>, b: Readonly<Record<string, number>>): Record<string, number> =>
  Object.fromEntries(Object.keys({ ...a, ...b }).map(name => [name, (a[name] ?? 0) + (b[name] ?? 0)]))

function inThread(seeds: Seeds): Promise<Coverage> {
  return new Promise((resolve, reject) => {
    const worker = new Worker(new URL(import.meta.url), { workerData: seeds })
    worker.once('message', resolve)
    worker.once('error', reject)
  })
}

/** So many evenings, half of them in another thread. */
export async function coverage(evenings: number): Promise<Coverage> {
  const half = Math.floor(evenings / 2)
  const [a, b] = await Promise.all([
    inThread({ from: 1, to: half + 1 }),
    inThread({ from: half + 1, to: evenings + 1 }),
  ])
  return {
    fitted: sum(a.fitted, b.fitted),
    covered: sum(a.covered, b.covered),
    unsteady: a.unsteady + b.unsteady,
  }
}

if (!isMainThread && workerData?.from !== undefined) parentPort?.postMessage(await coverageOf(workerData as Seeds))
