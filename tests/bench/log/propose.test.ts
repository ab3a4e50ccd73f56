import { describe, expect, it } from 'vitest'
import { parseFile } from '../../../grammar/file.ts'
import { format } from '../../../grammar/printer.ts'
import { type Proposal, proposeMapping, runText } from '../../../server/bench/log/propose.ts'
import { memoryLogs } from '../../../server/bench/log/source.ts'
import { read as readText } from '../../grammar/helpers.ts'

const propose = (text: string): Promise<Proposal | undefined> => proposeMapping(memoryLogs({ log: text }), 'log')

const short = (proposal: Proposal | undefined): string[] =>
  proposal?.columns.map(({ kind, header, unit }) => `${kind} ${header} ${unit.symbol}`) ?? []

const german = `Bench logger
elapsed;core clock;die voltage;package;hot spot;cold plate;coolant;fan
0,0;4712,5;1,2312;182,4;64,1;41,2;33,0;1200
1,0;4712,1;1,2310;182,0;64,3;41,2;33,0;1200
`

const bracketed = `Date,Time,"Core 0 Clock (MHz)","Core 1 Clock (MHz)","Core Clocks (avg) [MHz]","Memory Clock [MHz]","Core Voltage [V]","Package Power [W]","Power Limit [W]","Core 0 [°C]","Core Max [°C]","Board [°C]","Water In [°C]","Core Current [A]"
12.1.2026,21:40:00.1,4700,4710,4705,3200,1.231,181,240,60,64,38,31,142
12.1.2026,21:40:01.1,4700,4710,4705,3200,1.231,181,240,60,64,38,31,142
`

describe('a mapping proposed from a log', () => {
  it('goes by headers, and by numbers where there is no unit', async () => {
    const found = await propose(german)
    expect(short(found)).toEqual([
      'time elapsed s',
      'clock core clock MHz',
      'voltage die voltage V',
      'power package W',
      'die hot spot °C',
      'plate cold plate °C',
      'coolant coolant °C',
    ])
    expect(found).toMatchObject({ delimiter: ';', decimal: ',' })
  })

  it('knows bars between cells, and decimal commas in quotes', async () => {
    expect(await propose(german.replaceAll(';', '|'))).toMatchObject({ delimiter: '|', decimal: ',' })
    const quoted = german.replaceAll(/(?<=;|^)([^;\n]+)/gm, '"$1"').replaceAll(';', ',')
    const found = await propose(quoted)
    expect(found).toMatchObject({ delimiter: ',', decimal: ',' })
    expect(short(found)).toHaveLength(7)
    const head = { name: 'a', profile: 'b', load: 'c', path: 'log' }
    const barred = await propose(german.replaceAll(';', '|'))
    expect(runText(head, barred!)).toContain('\n    delimiter pipe\n    decimal comma\n')
  })

  it('goes by units in headers, and past what is not of the cores', async () => {
    const found = await propose(bracketed)
    expect(short(found)).toEqual([
      'time Time s',
      'clock Core Clocks (avg) [MHz] MHz',
      'voltage Core Voltage [V] V',
      'power Package Power [W] W',
      'current Core Current [A] A',
      'die Core Max [°C] °C',
      'coolant Water In [°C] °C',
    ])
    expect(found?.columns.find(({ kind }) => kind === 'clock')?.others).toContain('Core 0 Clock (MHz)')
  })

  it('takes a clock in GHz and a voltage in mV for what they are', async () => {
    expect(short(await propose('t,clock,volts,temperature\n0,4.7,1231,64\n1,4.7,1230,65\n'))).toEqual([
      'clock clock GHz',
      'voltage volts mV',
      'die temperature °C',
    ])
  })

  it('knows what drives the plate and the fan from what feeds the part', async () => {
    const header =
      'elapsed,package power [W],core current [A],plate current [A],plate voltage [V],fan duty [%],cpu load [%]'
    const found = await propose(`${header}\n0,182,140,6.1,24.2,60,100\n1,182,141,6.1,24.2,60,100\n`)
    expect(short(found)).toEqual([
      'time elapsed s',
      'power package power [W] W',
      'current core current [A] A',
      'drive plate current [A] A',
      'drive-voltage plate voltage [V] V',
      'fan fan duty [%] %',
    ])
  })

  it('is missing where there is nothing like it', async () => {
    for (const text of ['', 'a,b\n1,2\n', 'dear diary', 'name,colour\nx,y\n'])
      expect(await propose(text)).toBeUndefined()
    expect(await proposeMapping(memoryLogs({}), 'log')).toBeUndefined()
  })

  it('becomes a block that reads and is formatted', async () => {
    const head = {
      name: 'cold-evening',
      profile: 'winter',
      load: 'render',
      date: '2026-01-12 21:40',
      path: 'a "b".csv',
    }
    for (const text of [german, bracketed]) {
      const block = runText(head, (await propose(text))!)
      const { file, matches } = readText(block)
      expect(file.chunks.flatMap(({ chunk }) => chunk.problems)).toEqual([])
      expect(matches.every(match => match.sound)).toBe(true)
      expect(format(parseFile(block))).toBe(block)
    }
  })
})
