import { describe, expect, it } from 'vitest'
import { createService } from '../../server/service.ts'
import { revisionAround } from '../../server/workspace/git.ts'
import { nodeFiles, uriOfPath } from '../../server/workspace/node-files.ts'
import { nodeLogs } from '../harness/file-systems.ts'
import { temporaryFolder } from '../harness/process.ts'
import { commitFiles, startRepository } from '../harness/repository.ts'
import { railed, twoGroups } from '../harness/two-groups.ts'
import { benchText, detent } from './helpers.ts'

/** Runs are compared with what their profile set when they were made. */

interface Run {
  readonly run: string
  readonly revision: string | null
  readonly settings: string
  readonly settings_why: string | null
  readonly figures: readonly { readonly figure: string; readonly predicted: number; readonly off: boolean }[]
}

const run = (name: string, revision: string | undefined, measured: string): string => `
run ${name} of daily under work {
${revision === undefined ? '' : `  revision "${revision}"\n`}  air 20 °C
  humidity 40 %
  measured { ${measured} }
}
`

async function runsOf(folder: string, file = 'bench.detent'): Promise<readonly Run[]> {
  const { out, code } = await detent(folder, ['predict', '--runs', '--output', 'json', file])
  expect(code).toBe(0)
  return (JSON.parse(out) as { runs: readonly Run[] }).runs
}

const predictedOf = (one: Run | undefined, figure: string): number | undefined =>
  one?.figures.find(own => own.figure === figure)?.predicted

async function findingsOf(folder: string, file = 'bench.detent') {
  const { out } = await detent(folder, ['check', '--output', 'json', file])
  const { findings } = JSON.parse(out) as {
    findings: { code: string; line: number; column: number; severity: string; message: string }[]
  }
  return findings.filter(({ code }) => code === 'prediction-off' || code === 'run-log')
}

const clock = 'clock 4.600 GHz'
const text = benchText()
const slower = text.replace('46x', '42x')

describe('a run with a revision', () => {
  it('is compared with what its profile set then', async () => {
    using folder = temporaryFolder({})
    startRepository(folder.path)
    const then = commitFiles(folder.path, { 'bench.detent': text })
    commitFiles(folder.path, {
      'bench.detent': slower + run('old', then.slice(0, 8), clock) + run('new', undefined, clock),
    })
    const [old, recent] = await runsOf(folder.path)
    expect(old).toMatchObject({ revision: then.slice(0, 8), settings: 'revision', settings_why: null })
    expect(recent).toMatchObject({ revision: null, settings: 'now', settings_why: null })
    expect(predictedOf(old, 'clock')).toBeCloseTo(4.6, 9)
    expect(predictedOf(recent, 'clock')).toBeCloseTo(4.2, 9)
    const found = await findingsOf(folder.path)
    expect(found.map(({ code, message }) => [code, /`(\w+)`/.exec(message)?.[1]])).toEqual([['prediction-off', 'new']])
    for (const args of [
      ['predict', '--runs'],
      ['report', '--output', 'markdown'],
    ]) {
      const { out } = await detent(folder.path, [...args, 'bench.detent'])
      expect(out.replace(/\s+/g, ' ')).toContain(
        `predicted with what its profile set at revision ${then.slice(0, 8)}, and today’s constants`,
      )
    }
  })

  it('is reported with the constants that have changed since, its air and the fan predicted for it', async () => {
    using folder = temporaryFolder({})
    startRepository(folder.path)
    const then = commitFiles(folder.path, { 'bench.detent': text })
    const [constant = ''] = /switching [\d.]+ nF/.exec(text) ?? []
    const refitted = text.replace(constant, 'switching 2.345 nF')
    expect(refitted).not.toBe(text)
    commitFiles(folder.path, { 'bench.detent': refitted + run('old', then.slice(0, 8), clock) })
    const { out } = await detent(folder.path, ['report', '--output', 'markdown', 'bench.detent'])
    const [, own = ''] = out.replace(/ +/g, ' ').split('### Run old ')
    expect(own).toMatch(/air 20 °C, humidity 40 %, fan predicted at \d+ %/)
    expect(own).toContain(`| constant | at ${then.slice(0, 8)} | now |`)
    expect(own).toContain(`| part switching | ${constant.replace('switching ', '')} | 2.345 nF |`)
    const [, table = ''] = out.split('### What each load settles at')
    expect(table).toMatch(/^\| load.*\| fan % +\|/m)
  })

  it('with nothing changed since differs in nothing', async () => {
    using folder = temporaryFolder({})
    startRepository(folder.path)
    const then = commitFiles(folder.path, { 'bench.detent': text.replace('  room den\n', '  room den # the den\n') })
    const measured = 'clock 4.600 GHz; power 95 W; die 51 °C'
    commitFiles(folder.path, { 'bench.detent': text + run('old', then, measured) + run('new', undefined, measured) })
    const [old, recent] = await runsOf(folder.path)
    expect(old?.settings).toBe('unchanged')
    expect(old?.figures).toEqual(recent?.figures)
  })

  it('is compared with the constants of now, and what is gone since as it was', async () => {
    using folder = temporaryFolder({})
    startRepository(folder.path)
    const then = commitFiles(folder.path, { 'bench.detent': text })
    const other = `${slower.replaceAll('tower', 'spire').replace('switching 2 nF', 'switching 3 nF')}`
    commitFiles(folder.path, { 'bench.detent': other + run('old', then, 'clock 4.600 GHz; power 95 W') })
    commitFiles(folder.path, {
      'same.detent': text.replace('switching 2 nF', 'switching 3 nF') + run('old', undefined, 'power 95 W'),
    })
    const [old] = await runsOf(folder.path)
    const [same] = await runsOf(folder.path, 'same.detent')
    expect(predictedOf(old, 'clock')).toBeCloseTo(4.6, 9)
    expect(predictedOf(old, 'power')).toBeCloseTo(predictedOf(same, 'power') as number, 9)
  })

  it('had the set voltages that followed from the needs of then', async () => {
    using folder = temporaryFolder({})
    startRepository(folder.path)
    const then = commitFiles(folder.path, { 'bench.detent': benchText('  voltage { core needs + 20 mV }\n') })
    const better = benchText('  voltage { core needs + 20 mV }\n').replace(
      'needs { 40x 1.000 V; 50x 1.200 V }',
      'needs { 42x 1.000 V; 46x 1.050 V; 50x 1.150 V }',
    )
    commitFiles(folder.path, {
      'bench.detent': better + run('old', then, 'voltage 1.140 V') + run('new', undefined, 'voltage 1.140 V'),
    })
    const [old, recent] = await runsOf(folder.path)
    // 46x lay six tenths of the way from 1.000 V to 1.200 V then, and was measured since.
    expect(predictedOf(old, 'voltage')).toBeCloseTo(1.14, 9)
    expect(predictedOf(recent, 'voltage')).toBeCloseTo(1.07, 9)
  })

  it('had them group by group, where cores are of several kinds', async () => {
    using folder = temporaryFolder({})
    startRepository(folder.path)
    const steps = '  steps broad { 1 to 4 cores 46x }\n  steps small { 1 to 10 cores 40x }'
    const bench = railed(twoGroups(steps), 'side')
    const better = bench.replace('33x 0.990 V; 40x 1.195 V', '33x 0.970 V; 40x 1.150 V')
    const evening = (revision: string): string =>
      run('old', revision, 'voltage small 1.195 V').replace('of daily under work', 'of day under whole')
    const then = commitFiles(folder.path, { 'bench.detent': bench })
    commitFiles(folder.path, { 'bench.detent': better + evening(then) })
    const [old] = await runsOf(folder.path)
    // What the firmware had for the small cores then, and not what they are known to need now.
    expect(predictedOf(old, 'voltage')).toBeCloseTo(1.195, 9)
  })

  it('that cannot be read is compared with now, and it is said at the run', async () => {
    using folder = temporaryFolder({})
    startRepository(folder.path)
    commitFiles(folder.path, { 'bench.detent': text + run('old', 'fffffff', clock) })
    const [old] = await runsOf(folder.path)
    expect(old).toMatchObject({ settings: 'not-had', settings_why: expect.stringContaining('no revision fffffff') })
    const [found, ...others] = await findingsOf(folder.path)
    expect(others).toEqual([])
    expect(found).toMatchObject({ code: 'run-log', severity: 'information', column: 3 })
    expect(text.concat(run('old', 'fffffff', clock)).split('\n')[(found?.line ?? 0) - 1]).toContain('revision')
    const { out } = await detent(folder.path, ['predict', '--runs', 'bench.detent'])
    expect(out.replace(/\s+/g, ' ')).toContain('because revision fffffff cannot be read')
  })

  it('is compared with now outside a repository, and where the profile was not there', async () => {
    using bare = temporaryFolder({ 'bench.detent': text + run('old', 'main', clock) })
    expect((await runsOf(bare.path))[0]?.settings_why).toMatch(/no git repository/)
    using folder = temporaryFolder({})
    startRepository(folder.path)
    const then = commitFiles(folder.path, { 'bench.detent': text.replace('profile daily', 'profile nightly') })
    commitFiles(folder.path, { 'bench.detent': text + run('old', then, clock) })
    expect((await runsOf(folder.path))[0]?.settings_why).toBe('that revision has no profile daily')
  })

  it('finds its profile in another file, and that file as it was', async () => {
    using folder = temporaryFolder({})
    startRepository(folder.path)
    const then = commitFiles(folder.path, { 'parts.detent': text })
    commitFiles(folder.path, {
      'parts.detent': slower,
      'logs/runs.detent': `detent 1\nuse "../parts.detent"\n${run('old', then, clock)}`,
    })
    const found = await runsOf(folder.path, '.')
    const old = found.find(one => one.run === 'old')
    expect(old?.settings).toBe('revision')
    expect(predictedOf(old, 'clock')).toBeCloseTo(4.6, 9)
  })

  it('gives a fit the settings of then with the part of now', async () => {
    using folder = temporaryFolder({})
    startRepository(folder.path)
    const then = commitFiles(folder.path, { 'bench.detent': text })
    // Another voltage now; what is not measured in the run is what was set then.
    const now = benchText('  voltage { core fixed 1.300 V }\n')
    const measured = 'clock 4.600 GHz; power 94.0 W; die 51.0 °C'
    commitFiles(folder.path, { 'bench.detent': now + run('a', then, measured) + run('b', then, measured) })
    const fitted = async (file: string) => {
      const args = ['fit', file, '--part', 'sample', '--free', 'switching', '--output', 'json']
      return JSON.parse((await detent(folder.path, args)).out) as {
        parameters: { value: number }[]
        runs: { run: string; settings: string }[]
      }
    }
    commitFiles(folder.path, {
      'old.detent': text + run('a', undefined, measured) + run('b', undefined, measured),
    })
    const [withRevision, then_] = [await fitted('bench.detent'), await fitted('old.detent')]
    expect(withRevision.runs).toEqual([
      { run: 'a', revision: then, settings: 'revision', settings_why: null },
      { run: 'b', revision: then, settings: 'revision', settings_why: null },
    ])
    expect(withRevision.parameters[0]?.value).toBeCloseTo(then_.parameters[0]?.value as number, 9)
    const { out } = await detent(folder.path, ['fit', 'bench.detent', '--part', 'sample', '--free', 'switching'])
    expect(out.replace(/\s+/g, ' ')).toContain('a: predicted with what its profile set at revision')
  })
})

describe('revisions of runs', () => {
  it('are read once each, and pending until they are', async () => {
    using folder = temporaryFolder({})
    startRepository(folder.path)
    const then = commitFiles(folder.path, { 'bench.detent': text })
    const runs = ['a', 'b', 'c'].map(name => run(name, then, clock)).join('')
    commitFiles(folder.path, { 'bench.detent': slower + runs + run('d', 'HEAD', clock) })
    const asked: string[] = []
    const service = createService(nodeFiles, {
      logs: nodeLogs,
      revisions: (uri, revision) => {
        asked.push(revision)
        return revisionAround(uri, revision)
      },
    })
    const uri = uriOfPath(`${folder.path}/bench.detent`)
    await service.workspace.load([uri])
    const froms = (): string[] => service.bench.compared(uri).map(({ settings }) => settings.from)
    expect(froms()).toEqual(['pending', 'pending', 'pending', 'pending'])
    expect(service.findings(uri).map(({ finding }) => finding.code)).not.toContain('prediction-off')
    await service.bench.loadLogs(uri)
    expect({ froms: froms(), asked }).toEqual({ froms: ['pending', 'pending', 'pending', 'pending'], asked: [] })
    await service.bench.loadLogs(uri, { revisions: 'look-up' })
    await service.bench.loadLogs(uri, { revisions: 'look-up' })
    expect(froms()).toEqual(['revision', 'revision', 'revision', 'unchanged'])
    expect(asked).toEqual([then, 'HEAD'])
    expect(service.bench.compared(uri)).toEqual(service.bench.compared(uri))
    expect(service.bench.compared(uri)[0]).toBe(service.bench.compared(uri)[0])
  })

  it('are of no matter where none can be read: the hover says so, no finding does', async () => {
    const service = createService(nodeFiles)
    const uri = 'file:///a.detent'
    service.workspace.set(uri, text + run('old', 'fffffff', clock), 1)
    expect(service.findings(uri).map(({ finding }) => finding.code)).not.toContain('run-log')
    const at = service.workspace.document(uri)?.source.text.indexOf('old of') ?? 0
    expect(service.features.hover(uri, at)?.text).toContain('older revisions cannot be read here')
  })
})
