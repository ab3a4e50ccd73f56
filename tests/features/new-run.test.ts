import { describe, expect, it } from 'vitest'
import { parseFile } from '../../grammar/file.ts'
import { applyEdits } from '../../grammar/printer.ts'
import { memoryLogs } from '../../server/bench/log/source.ts'
import { type NewRun, newRun, runChoices } from '../../server/features/new-run.ts'
import { createService, formattedText } from '../../server/service.ts'
import { memoryFiles } from '../harness/file-systems.ts'
import { bench } from './bench.ts'

const folder = 'memory://bench/'
const log = `${folder}logs/Cold%20Evening%202.csv`
const rows = 'elapsed;core clock;die voltage;package;hot spot;fan\n0,0;4712,5;1,2312;182,4;64,1;1200\n'
const profile = `profile daily {
  part sample-b7
  cooler big-loop
  room garage
  steps { 1 to 12 cores 50x }
}
`
const runs = `detent 1
use "bench.detent"

${profile}`

interface Place {
  readonly texts?: Readonly<Record<string, string>>
  readonly log?: string
  readonly head?: string
}

async function asked(text: string, { texts = {}, log: named = log, head = rows }: Place = {}) {
  const uri = `${folder}runs.detent`
  const files = { [`${folder}bench.detent`]: bench, [uri]: text, ...texts }
  const service = createService(memoryFiles(files))
  await service.workspace.load(Object.keys(files))
  const logs = memoryLogs({ [log]: head })
  const make = (profile = 'daily', load = 'render') =>
    newRun(service.workspace, logs, { uri, log: named, profile, load })
  return { service, uri, make, choices: (offset: number) => runChoices(service.workspace.view(uri)!, offset) }
}

function made(found: Awaited<ReturnType<typeof newRun>>): NewRun {
  if ('trouble' in found) throw new Error(found.trouble)
  return found
}

function troubleOf(found: Awaited<ReturnType<typeof newRun>>): string {
  return 'trouble' in found ? found.trouble : ''
}

const block = (name: string): string => `run ${name} of daily under render {
  log "logs/Cold Evening 2.csv" {
    column time "elapsed" s
    column clock "core clock" MHz
    column voltage "die voltage" V
    column power "package" W
    column die "hot spot" °C
    delimiter semicolon
    decimal comma
  }
}
`

describe('a run from a log', () => {
  it('stands at the end of a file that has none, formatted and found under its name', async () => {
    const { make } = await asked(runs)
    const { edit, at, name } = made(await make())
    const text = applyEdits(runs, [edit])
    expect(text).toBe(`${runs}\n${block('cold-evening-2')}`)
    expect(text.slice(at.start, at.end)).toBe(name)
    expect(formattedText(text)).toBe(formattedText(runs) + text.slice(runs.length))
  })

  it('stands behind the last run, under a name that no file has, with the line ends of the file', async () => {
    const own = `${runs}\n${block('cold-evening-2')}# of the run\nroom attic {\n  air 20 °C\n  humidity 40 %\n}\n`
    const other = `use "runs.detent"\n${block('cold-evening-2-2')}`
    const text = own.replaceAll('\n', '\r\n')
    const { make } = await asked(text, { texts: { [`${folder}other.detent`]: other } })
    const { edit, name } = made(await make())
    expect(name).toBe('cold-evening-2-3')
    const inserted = `\n${block('cold-evening-2-3')}`
    const end = own.indexOf('# of the run')
    expect(applyEdits(text, [edit])).toBe((own.slice(0, end) + inserted + own.slice(end)).replaceAll('\n', '\r\n'))
  })

  it.each([
    ['no line end', runs.trimEnd()],
    ['empty lines at the end', `${runs}\n\n`],
    ['a comment at the end', `${runs}# the end`],
  ])('reads behind %s', async (_, text) => {
    const { make } = await asked(text)
    const after = applyEdits(text, [made(await make()).edit])
    expect(after.endsWith(`\n\n${block('cold-evening-2')}`)).toBe(true)
    expect(parseFile(after).chunks.flatMap(({ chunk }) => chunk.problems)).toEqual([])
  })

  it.each([
    ['a brace that is not closed', `${runs.trimEnd().slice(0, -1)}`],
    ['a string that is not closed', `${runs}room "`],
  ])('is not written behind %s', async (_, text) => {
    const { make } = await asked(text)
    expect(troubleOf(await make())).toMatch(/fix the errors above its place first/)
  })

  it('says which columns were left out, which figures are missing, and what is a guess', async () => {
    const plain = made(await (await asked(runs)).make())
    expect(plain.told).toContain('takes time, clock, voltage, power and die from its log')
    expect(plain.told).toContain('Not found in it: current, plate and coolant.')
    expect(plain.told).toContain('Left out: "fan".')
    // No unit stands in these headers.
    expect(plain.told).toContain('the unit of "hot spot", °C, is a guess from its numbers')
    const sure = made(
      await (await asked(runs, { head: 'Time [s],Clock [MHz],Core Max [°C],Core 0 [°C]\n0,4700,64,60\n' })).make(),
    )
    expect(sure).toMatchObject({ doubtful: true })
    expect(sure.told).toContain('die is taken from "Core Max [°C]", but "Core 0 [°C]" could also be meant')
    expect(sure.told).not.toContain('guess from its numbers')
    const certain = made(await (await asked(runs, { head: 'Clock [MHz],Power [W]\n4700,180\n4701,181\n' })).make())
    expect(certain).toMatchObject({ doubtful: false })
    expect(certain.told).toContain('rows count as 1 s apart')
    const wide = ['Power [W]', ...Array.from({ length: 12 }, (_, at) => `fan ${at}`)]
    const many = made(await (await asked(runs, { head: `${wide.join()}\n${wide.map(() => 180).join()}\n` })).make())
    expect(many.told).toContain('"fan 7" and 4 more.')
  })

  it('says why there is none', async () => {
    const { make } = await asked(runs)
    expect(troubleOf(await make('noon'))).toBe('There is no profile noon in runs.detent or the files it uses.')
    expect(troubleOf(await make('daily', 'lifting'))).toBe(
      'There is no load lifting in runs.detent or the files it uses.',
    )
    const apart = await asked('detent 1\n', { texts: { [`${folder}sub/daily.detent`]: profile } })
    expect(troubleOf(await apart.make())).toBe(
      'The profile daily is in daily.detent: write use "sub/daily.detent" into runs.detent first.',
    )
    const gone = await asked(runs, { log: `${folder}gone.csv` })
    expect(troubleOf(await gone.make())).toContain('There is no file gone.csv')
    const diary = await asked(runs, { head: 'dear diary\n' })
    expect(troubleOf(await diary.make())).toContain('Nothing at the start of Cold Evening 2.csv')
  })

  it('needs a way from the file to the log', async () => {
    const far = 'other://place/a.csv'
    const uri = `${folder}runs.detent`
    const service = createService(memoryFiles({ [uri]: runs, [`${folder}bench.detent`]: bench }))
    await service.workspace.load([uri])
    const found = await newRun(service.workspace, memoryLogs({ [far]: rows }), {
      uri,
      log: far,
      profile: 'daily',
      load: 'render',
    })
    expect(troubleOf(found)).toContain('there is none from runs.detent to a.csv')
  })

  it('is of what the file sees, the profile at the cursor first', async () => {
    const two = `${runs}\nprofile night based-on daily {\n}\n`
    const { choices } = await asked(two)
    expect(choices(0).profiles).toEqual(['daily', 'night'])
    expect(choices(two.indexOf('based-on')).profiles).toEqual(['night', 'daily'])
    expect(choices(0).loads).toEqual(expect.arrayContaining(['render', 'idle', 'off']))
  })
})
