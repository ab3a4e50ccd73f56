import { describe, expect, it } from 'vitest'
import type { Sheet, SheetLine } from '../../server/features/sheet/types.ts'
import { profileIn, sheetFor, sheetHtml, sheetMarkdown } from '../../server/service.ts'
import { loadFixture, uriOf } from '../harness/fixture.ts'
import { onBench, soundBench } from '../harness/sound-bench.ts'

const uri = uriOf('a.detent')

const board = `board desk {
  core-voltage-step 5 mV
  load-line 0.4 mΩ
  supply 750 W
  menu {
    current "Power" "Amps"
    "memory clock" "Memory" "Rate"
    steps "Cores" "Clock per core count"
    core-voltage "Power" "Volts"
    drive "Power" "Plate"
  }
}
`

/** A profile on the sound bench with a board; `name` is the one that is asked for. */
async function sheet(lines: string, more = '', options: { from?: string; name?: string } = {}): Promise<Sheet> {
  const { service } = await loadFixture(`--- a.detent
detent 1
use "bench.detent"

profile daily {
  part willow-4
  cooler pond-loop
  room loft
  board desk
${lines}
}
${more}
${board}
${soundBench}`)
  const profile = options.from === undefined ? undefined : profileIn(service.workspace, uri, options.from)
  const from = profile === undefined ? {} : { from: { label: options.from ?? '', profile } }
  const made = sheetFor(service.workspace, uri, options.name ?? 'daily', from)
  if (made === undefined) throw new Error('no such profile')
  return made
}

const lines = ({ pages }: Sheet): SheetLine[] => pages.flatMap(page => [...page.lines])
const brief = (of: Sheet, setting: string): string[] =>
  lines(of)
    .filter(line => line.setting === setting)
    .map(line => `${line.row}: ${line.enter}${line.rounding === undefined ? '' : ` (${line.asked}, ${line.rounding})`}`)

const steps = '  steps { 1 to 2 cores 48x; 3 to 4 cores 44x }'

describe('core voltages on a sheet', () => {
  it('stand for each ratio that steps, bands and vector loads lead to, rounded to the grid', async () => {
    const made = await sheet(`${steps}
  bands { 1 to 2 cores above 60 °C -1x; 1 to 4 cores above 80 °C -2x }
  vector -1x
  voltage { core needs + 10 mV }`)
    // By hand: needs 1.040 V at 40x and 1.240 V at 50x, 20 mV each ratio, and 10 mV on top. Two cores: 48, 47, 46 and
    // under a vector load 47, 46, 45; four cores: 44, 42 and 43, 41.
    expect(brief(made, 'core-voltage')).toEqual([
      '48x: 1.210 V',
      '47x: 1.190 V',
      '46x: 1.170 V',
      '45x: 1.150 V',
      '44x: 1.130 V',
      '43x: 1.110 V',
      '42x: 1.090 V',
      '41x: 1.070 V',
    ])
  })

  it('say how far they were rounded, halves up', async () => {
    const made = await sheet(`${steps}
  voltage { core needs + 12.5 mV; set 44x 1.2365 V }`)
    // With the `set` row the line from 44x to 50x is steeper: 1.2365 + (1.2525 - 1.2365) * 4 / 6 V at 48x.
    expect(brief(made, 'core-voltage')).toEqual([
      '48x: 1.245 V (1.247167 V, rounded down 2.167 mV)',
      '44x: 1.235 V (1.2365 V, rounded down 1.5 mV)',
    ])
    const half = await sheet('  steps { 1 to 4 cores 40x }\n  voltage { core needs + 2.5 mV }')
    expect(brief(half, 'core-voltage')).toEqual(['40x: 1.045 V (1.0425 V, rounded up 2.5 mV)'])
  })

  it('are one where the profile fixes it, and rows beside it are left out by name', async () => {
    const made = await sheet(`${steps}\n  voltage { core fixed 1.303 V; set 48x 1.31 V }`)
    expect(brief(made, 'core-voltage')).toEqual(['all ratios: 1.305 V (1.303 V, rounded up 2 mV)'])
    expect(made.leftOut).toEqual([{ text: 'set 48x 1.31 V', why: 'one fixed voltage is used for all ratios' }])
  })

  it('have a row for a ratio that only a set row names, and a remark where nothing was measured', async () => {
    const made = await sheet('  steps { 1 to 4 cores 52x }\n  voltage { set 30x 0.95 V }')
    const [fast, slow] = lines(made).filter(line => line.setting === 'core-voltage')
    expect(fast).toMatchObject({ row: '52x', enter: '1.240 V' })
    expect(fast?.notes.join()).toContain('nothing was measured at this ratio')
    expect(slow).toMatchObject({ row: '30x', enter: '0.950 V' })
  })

  it('beyond what the part allows say so', async () => {
    const made = await sheet(`${steps}\n  voltage { core fixed 1.40 V }`)
    expect(lines(made).find(line => line.setting === 'core-voltage')?.notes).toEqual([
      "above the part's 0.700 V to 1.350 V: do not enter it",
    ])
  })

  it('stand where a ratio off the grid is entered, not where it was asked for', async () => {
    const made = await sheet('  steps { 1 to 4 cores 43.4x }')
    expect(brief(made, 'steps')[0]).toBe('1 core: 43x (43.4x, rounded down 0.4x)')
    expect(brief(made, 'core-voltage')).toEqual(['43x: 1.100 V'])
    expect(made.errors.join()).toContain('ratio-grid')
  })
})

describe('the order of a sheet', () => {
  const full = `${steps}
  vector -1x
  limits { current 150 A; sustained-power 120 W over 2 min }
  also { "memory clock" "3200 MT/s"; "sleep states" "on" }`

  it('is that of the menu: pages as they are first named, then fields; the rest is named as not covered', async () => {
    const made = await sheet(full)
    const order = made.pages.map(({ page, lines: own }) => [
      page,
      ...new Set(own.map(line => line.field ?? line.setting)),
    ])
    expect(order).toEqual([
      ['Power', 'Amps', 'Volts'],
      ['Memory', 'Rate'],
      ['Cores', 'Clock per core count'],
      [undefined, 'vector', 'sustained-power', 'also'],
    ])
    expect(lines(made).map(line => line.number)).toEqual(lines(made).map((_, index) => index + 1))
    expect(brief(made, 'also')).toEqual(['memory clock: 3200 MT/s', 'sleep states: on'])
    expect(brief(made, 'sustained-power')).toEqual([': 120 W', 'averaged over: 120 s'])
  })

  it('names fields that the profile says nothing about', async () => {
    const { untouched } = await sheet(full)
    expect(untouched).toEqual([{ setting: 'drive', page: 'Power', field: 'Plate' }])
  })

  it('has the board and the part as facts', async () => {
    const { facts } = await sheet(full)
    const text = facts.map(fact => `${fact.name}: ${fact.text}`).join('\n')
    expect(text).toContain('grid of core voltages: 5 mV')
    expect(text).toContain('load line used in the predictions: 0.4 mΩ')
    expect(text).toContain('supply: 750 W')
    expect(text).toContain('8x to 50x in steps of 1x')
  })
})

describe('a sheet of what differs', () => {
  const night = `profile night based-on daily {
  steps { 1 to 2 cores 48x; 3 to 4 cores 43x }
  limits { die 80 °C }
}
`

  it('has changed and new values only, with what stands in the other', async () => {
    const made = await sheet(`${steps}\n  limits { current 150 A }`, night, { name: 'night', from: 'daily' })
    expect(lines(made).map(({ setting, row, enter, before }) => [setting, row, enter, before])).toEqual(
      [
        ['steps', '3 cores', '43x', '44x'],
        ['steps', '4 cores', '43x', '44x'],
        ['core-voltage', '43x', '1.100 V', undefined],
        ['die', '', '80 °C', undefined],
      ].sort((a, b) => Number(a[0] !== 'core-voltage') - Number(b[0] !== 'core-voltage')),
    )
    // Steps of one and two cores, the voltage at 48x, and the current.
    expect(made.from?.unchanged).toBe(4)
    expect(made.from?.gone.map(({ setting, row, before, field }) => [setting, row, before, field])).toEqual([
      ['core-voltage', '44x', '1.120 V', 'Volts'],
    ])
  })

  it('says which rows others take the place of, and that the other is for another bench', async () => {
    const first = '  steps { 1 to 4 cores 44x }\n  fan { 24 °C 30 %; 40 °C 100 % }'
    const second = `cooler other-loop kind loop {
  block-resistance 0.05 K/W
  radiator { 20 % 0.09 K/W; 100 % 0.05 K/W }
}
profile night {
  part willow-4
  cooler other-loop
  room loft
  board desk
  steps { 1 to 4 cores 44x }
  fan { 28 °C 40 %; 40 °C 100 % }
}
`
    const made = await sheet(first, second, { name: 'night', from: 'daily' })
    expect(made.from?.gone.map(({ setting, row, replaced }) => [setting, row, replaced])).toEqual([
      ['fan', 'at 24 °C', true],
    ])
    expect(made.facts.map(({ name, text }) => `${name}: ${text}`)).toContain(
      'daily is for another bench: cooler pond-loop',
    )
    expect(sheetMarkdown(made)).toContain('Rows of daily that those above replace')
    const gone = await sheet(first, night, { name: 'night', from: 'daily' })
    expect(sheetMarkdown(gone)).not.toContain('for another bench')
  })

  it('names what must be put back', async () => {
    const made = await sheet(`${steps}\n  limits { current 150 A }`, night, { name: 'daily', from: 'night' })
    expect(made.from?.gone.map(({ setting, before }) => [setting, before])).toEqual(
      [
        ['die', '80 °C'],
        ['core-voltage', '1.100 V'],
      ].sort(),
    )
  })
})

describe('ratios below those with a voltage', () => {
  it('are named where limits lead to them', async () => {
    const made = await sheet(`${steps}\n  limits { burst-power 40 W }`, 'load all { cores 4 }\n')
    const fact = made.facts.find(({ name }) => name.includes('the lowest ratio with a voltage here'))
    expect(fact?.name).toContain('44x')
    expect(fact?.text).toMatch(/limits take all to \d\dx/)
    const free = await sheet(steps, 'load all { cores 4 }\n')
    expect(free.facts.some(({ name }) => name.includes('the lowest ratio'))).toBe(false)
  })
})

describe('what a sheet leaves out', () => {
  it('is named: lines in error, rows that another hides, cores that the part has not, keys given again', async () => {
    const made = await sheet(`  steps { 1 to 3 cores 46x; 3 to 6 cores 44x }
  vector 2x
  limits { current 150 A; current 140 A; die 80 }
  drive dew + 2 K
  also { "memory clock" "3200"; "memory clock" "3600" }`)
    expect(made.leftOut).toEqual([
      { text: '3 to 6 cores 44x', why: 'for 3 cores an earlier row counts' },
      { text: '3 to 6 cores 44x', why: 'the part has 4 cores, so no more are entered' },
      { text: 'drive dew + 2 K', why: 'the cooler is not a thermoelectric plate, so there is nothing to drive' },
      { text: '"memory clock" "3200"', why: 'it is given again below, and the last one counts' },
      { text: 'current 150 A', why: 'it is given again below, and the last one counts' },
      { text: 'vector 2x', why: 'this line is in error' },
      { text: 'die 80', why: 'this line is in error' },
    ])
    expect(brief(made, 'current')).toEqual([': 140 A'])
    expect(made.errors.length).toBeGreaterThan(0)
  })

  it('includes voltages that cannot be worked out', async () => {
    const made = await sheet(`${steps}\n  part nothing\n  voltage { core needs + 10 mV }`)
    expect(made.incomplete.join()).toContain('core voltage')
    expect(made.leftOut.map(({ text }) => text)).toContain('core needs + 10 mV')
    expect(brief(made, 'steps')).toHaveLength(4)
  })

  it('are not failed expectations', async () => {
    const made = await sheet(`${steps}\n  voltage { core needs + 40 mV }\n  expect weave holds >= 9 GHz`)
    expect(made.errors).toEqual([])
  })
})

describe('runs that contradict the voltages of a sheet', () => {
  it('are each said once, however many ratios and runs there are', async () => {
    const run = (name: string, volts: string): string =>
      `run ${name} of daily under weave { measured { clock 4.4 GHz; voltage ${volts} V }; stopped after 3 min "crash" }\n`
    const text = `  steps { 1 to 2 cores 46x; 3 to 4 cores 44x }\n  voltage { core needs + 0 mV }`
    const { service } = await loadFixture(onBench(text, run('a', '1.15') + run('b', '1.16') + run('c', '1.17')))
    const made = sheetFor(service.workspace, uri, 'daily', { evidence: service.bench.evidence })
    const cautions = made?.cautions.filter(one => one.includes('not proven'))
    expect(cautions).toEqual([
      expect.stringMatching(/^The voltages from 44x on are not proven: run c stopped \(“crash”\) with 1\.170 V/),
    ])
  })
})

describe('the forms of a sheet', () => {
  const nasty = `${steps}\n  also { "a | b <i>" "& ""quoted"" \`x\`" }`

  it('keep whatever a person wrote as text', async () => {
    const made = await sheet(nasty)
    const html = sheetHtml(made)
    expect(html).toContain('a | b &lt;i&gt;')
    expect(html).toContain('&amp; &quot;quoted&quot; `x`')
    expect(html).not.toMatch(/<i>|<script|\son\w+=|https?:|url\(/)
    const markdown = sheetMarkdown(made)
    expect(markdown).toContain('a \\| b \\<i\\>')
  })

  it('have a box and a place to read back for every value, and the cautions', async () => {
    const made = await sheet(nasty)
    const count = lines(made).length
    const html = sheetHtml(made)
    expect(html.match(/<td class="tick" role="cell"><input type="checkbox" id="entered-\d+"><\/td>/g)).toHaveLength(
      count,
    )
    expect(html.match(/<td class="back" role="cell"><\/td>/g)).toHaveLength(count)
    // A finger on the field ticks its box.
    expect(html.match(/<label for="entered-\d+">/g)).toHaveLength(count)
    expect(sheetMarkdown(made).match(/☐/g)).toHaveLength(count)
    for (const text of made.cautions) expect(html).toContain(text.replaceAll("'", '&#39;'))
    expect(made.cautions[0]).toContain('makers')
  })
})
