import { describe, expect, it } from 'vitest'
import { layOver, readOverlay } from '../../server/features/overlay/index.ts'
import { allFiguresOf, createService, type Service } from '../../server/service.ts'
import { memoryFiles } from '../harness/file-systems.ts'
import { twoGroups } from '../harness/two-groups.ts'

/** On a part with groups of cores an overlaid statement is worth what it is in the file, group by group. */

const uri = 'memory://w/a.detent'
const settings = `  steps broad {
    1 to 2 cores   53x
    3 to 4 cores   50x
  }
  steps small {
    1 to 6 cores   40x
    7 to 10 cores  38x
  }
  bands broad return 2 K { 1 to 4 cores above 40 °C -1x }
  bands small { 1 to 10 cores above 45 °C -1x }
  voltage {
    core needs + 20 mV
    core small needs + 10 mV
    set broad 53x 1.350 V
  }
  limits { current 190 A }`
const night = '\nprofile night based-on day {\n  vector -1x\n}\n'
const text = twoGroups(settings) + night
const shared = twoGroups('  steps { 1 to 3 cores 41x; 4 to 10 cores 38x }') + night

async function load(own: string, ...statements: readonly string[]): Promise<Service> {
  const service = createService(memoryFiles({ [uri]: own }))
  await service.workspace.load([uri])
  layOver(
    service.workspace,
    statements.map((one, index) => readOverlay(one, index + 1)),
    [uri],
  )
  return service
}

const figures = (service: Service): string => JSON.stringify(service.evaluations(uri).map(allFiguresOf))

describe('a statement laid over a part with groups', () => {
  it.each<[name: string, before: string, statement: string, from: string, to: string]>([
    [
      'steps of one group, in what inherits as well',
      text,
      'steps broad { 3 to 4 cores 47x }',
      '3 to 4 cores   50x',
      '3 to 4 cores   47x',
    ],
    ['steps of the other', text, 'steps small { 7 to 10 cores 36x }', '7 to 10 cores  38x', '7 to 10 cores  36x'],
    ['bands of one group', text, 'bands broad { 1 to 4 cores above 40 °C -3x }', 'above 40 °C -1x', 'above 40 °C -3x'],
    [
      'a band that gives nothing back',
      text,
      'bands broad { 1 to 4 cores above 40 °C -0x }',
      '1 to 4 cores above 40 °C -1x',
      '',
    ],
    [
      'an offset of one group',
      text,
      'voltage { core small needs + 150 mV }',
      'small needs + 10 mV',
      'small needs + 150 mV',
    ],
    ['a set row of one group', text, 'voltage { set broad 53x 1.372 V }', '53x 1.350 V', '53x 1.372 V'],
    ['the limit of a rail', text, 'limits { current main 70 A }', 'current 190 A', 'current 190 A; current main 70 A'],
    ['a key of one group', text, 'part otter-r3 { group small { core-resistance 1.4 K/W } }', '0.85 K/W', '1.4 K/W'],
    [
      'a row of one group',
      text,
      'part otter-r3 { group broad { needs { 53x 1.330 V } } }',
      '53x 1.310 V',
      '53x 1.330 V',
    ],
    ['cores of one group in a load', text, 'load whole { cores small 2 }', 'cores small 10;', 'cores small 2;'],
    [
      'cores of a load altogether, in place of one number for each group',
      text,
      'load whole { cores 9 }',
      'cores broad 4; cores small 10;',
      'cores 9;',
    ],
    [
      'cores of one group, in place of one number for all',
      text,
      'load few { cores small 3 }',
      'cores 2;',
      'cores small 3;',
    ],
    ['a key of the part', text, 'part otter-r3 { shared-power 30 W }', 'shared-power 13 W', 'shared-power 30 W'],
    ['a table for every group', shared, 'steps { 4 to 10 cores 36x }', '4 to 10 cores 38x', '4 to 10 cores 36x'],
    [
      'a table of its own for one group, with what it has from the one for all',
      shared,
      'steps broad { 4 cores 45x }',
      'steps { 1 to 3 cores 41x; 4 to 10 cores 38x }',
      'steps { 1 to 3 cores 41x; 4 to 10 cores 38x }\n steps broad { 1 to 3 cores 41x; 4 cores 45x; 5 to 10 cores 38x }',
    ],
    [
      'a group that is not there',
      text,
      'part otter-r3 { group tiny { cores 2; ratio 8x to 30x; needs { 20x 0.9 V; 30x 1.1 V }; switching 0.5 nF } }',
      '  reference 100 MHz',
      '  group tiny { cores 2; ratio 8x to 30x; needs { 20x 0.9 V; 30x 1.1 V }; switching 0.5 nF }\n  reference 100 MHz',
    ],
  ])('takes %s', async (_, before, statement, from, to) => {
    expect(before).toContain(from)
    const laid = await load(before, statement)
    expect(figures(laid)).toBe(figures(await load(before.replace(from, to))))
    expect(figures(laid)).not.toBe(figures(await load(before)))
  })

  it('is refused where no part has the group or rail', async () => {
    await expect(load(text, 'steps tall { 1 to 4 cores 40x }')).rejects.toThrow(
      '--with 1, column 7: no part in the files asked for has a group tall.',
    )
    await expect(load(text, 'limits { current side 40 A }')).rejects.toThrow('has a supply rail side.')
    await expect(load(text, 'expect whole holds tall >= 3 GHz')).rejects.toThrow('has a group tall.')
    await expect(load(text, 'steps main { 1 to 4 cores 40x }')).rejects.toThrow('has a group main.')
    await expect(load(text, 'limits { current broad 40 A }')).rejects.toThrow('has a supply rail broad.')
  })

  it('leaves the groups alone where it is for all and each has its own', async () => {
    const laid = await load(text, 'steps { 1 to 10 cores 20x }')
    expect(figures(laid)).toBe(figures(await load(text)))
    expect(laid.findings(uri).map(({ finding }) => finding.code)).toContain('key-unused-here')
  })
})
