import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { menuSettings } from '../../grammar/vocabulary/index.ts'
import { createService, sheetFor } from '../../server/service.ts'
import { memoryFiles } from '../harness/file-systems.ts'

/**
 * Every value of a profile is on its sheet exactly once, or is named as left out. Profiles are drawn as plain numbers; what
 * must be on the sheet is worked out from those numbers here, by other means than the program's own.
 */

const cores = 6
const lowest = 8

interface Drawn {
  readonly steps: readonly (readonly [from: number, to: number, ratio: number])[]
  readonly bands: readonly (readonly [from: number, to: number, aboveC: number, drop: number])[]
  readonly returnK: number | undefined
  readonly vector: number | undefined
  readonly offsetMv: number | undefined
  readonly fixedMv: number | undefined
  readonly set: readonly (readonly [ratio: number, millivolts: number])[]
  readonly limits: Readonly<Record<'die' | 'sustained-power' | 'burst-power' | 'current', number | undefined>>
  readonly overS: number | undefined
  readonly drive: string | undefined
  readonly fan: readonly (readonly [coolantC: number, dutyPct: number])[]
  readonly also: readonly (readonly [name: string, value: string])[]
  readonly menu: readonly (readonly [setting: string, page: string])[]
  readonly gridMv: number | undefined
}

const range = fc
  .tuple(fc.integer({ min: 1, max: 8 }), fc.integer({ min: 0, max: 5 }))
  .map(([from, more]) => [from, from + more] as const)
const maybe = <T>(one: fc.Arbitrary<T>): fc.Arbitrary<T | undefined> => fc.option(one, { nil: undefined })
const names = ['memory clock', 'sleep states', 'lamp']

const drawn: fc.Arbitrary<Drawn> = fc.record({
  steps: fc.array(
    fc.tuple(range, fc.integer({ min: 20, max: 56 })).map(([[from, to], ratio]) => [from, to, ratio] as const),
    { minLength: 1, maxLength: 4 },
  ),
  bands: fc.uniqueArray(
    fc
      .tuple(range, fc.integer({ min: 30, max: 95 }), fc.integer({ min: 1, max: 50 }))
      .map(([[from, to], aboveC, drop]) => [from, to, aboveC, drop] as const),
    { maxLength: 4, selector: row => `${row[2]}` },
  ),
  returnK: maybe(fc.integer({ min: 0, max: 9 })),
  vector: maybe(fc.integer({ min: 0, max: 9 })),
  offsetMv: maybe(fc.integer({ min: -30, max: 60 })),
  fixedMv: maybe(fc.integer({ min: 700, max: 1400 })),
  set: fc.uniqueArray(fc.tuple(fc.integer({ min: 10, max: 60 }), fc.integer({ min: 700, max: 1400 })), {
    maxLength: 3,
    selector: row => row[0],
  }),
  limits: fc.record({
    die: maybe(fc.integer({ min: 60, max: 99 })),
    'sustained-power': maybe(fc.integer({ min: 50, max: 300 })),
    'burst-power': maybe(fc.integer({ min: 50, max: 300 })),
    current: maybe(fc.integer({ min: 50, max: 300 })),
  }),
  overS: maybe(fc.integer({ min: 1, max: 300 })),
  drive: maybe(fc.constantFrom('full', 'off', 'dew + 2 K', 'hold 8 °C')),
  fan: fc.uniqueArray(fc.tuple(fc.integer({ min: 10, max: 60 }), fc.integer({ min: 1, max: 100 })), {
    maxLength: 4,
    selector: row => row[0],
  }),
  also: fc.uniqueArray(fc.tuple(fc.constantFrom(...names), fc.constantFrom('on', '3200 MT/s')), {
    maxLength: 3,
    selector: row => row[0],
  }),
  menu: fc.uniqueArray(
    fc.tuple(
      fc.constantFrom(...menuSettings, ...names.map(name => `"${name}"`)),
      fc.constantFrom('One', 'Two', 'Three'),
    ),
    { maxLength: 10, selector: row => row[0] },
  ),
  gridMv: maybe(fc.constantFrom(1, 2.5, 5, 6.25, 12.5)),
})

const counted = (from: number, to: number): string =>
  from === to ? `${from} ${from === 1 ? 'core' : 'cores'}` : `${from} to ${to} cores`

function textOf(one: Drawn): string {
  const limits = Object.entries(one.limits).flatMap(([word, value]) => {
    if (value === undefined) return []
    const over = word === 'sustained-power' && one.overS !== undefined ? ` over ${one.overS} s` : ''
    return [`${word} ${value} ${word === 'die' ? '°C' : word === 'current' ? 'A' : 'W'}${over}`]
  })
  const core =
    one.fixedMv !== undefined
      ? `core fixed ${one.fixedMv} mV`
      : one.offsetMv === undefined
        ? 'core needs'
        : `core needs ${one.offsetMv < 0 ? '-' : '+'} ${Math.abs(one.offsetMv)} mV`
  return `detent 1
part p {
  cores ${cores}
  reference 100 MHz
  ratio ${lowest}x to 60x
  core-voltage 0.60 V to 1.50 V
  die-limit 100 °C
  needs { 20x 0.800 V; 37x 0.950 V; 50x 1.190 V; 60x 1.400 V }
  switching 2 nF
  leakage 8 W at 1.20 V 60 °C
  shared-power 10 W
  idle-power 8 W
  package-resistance 0.10 K/W
  core-resistance 0.50 K/W
}
cooler c kind thermoelectric {
  modules 2
  module { seebeck 53 mV/K; resistance 0.80 Ω; conductance 1.4 W/K }
  drive-current 5 A
  block-resistance 0.04 K/W
  radiator { 100 % 0.05 K/W }
}
room r { air 20 °C; humidity 40 % }
board b {
${one.gridMv === undefined ? '' : `  core-voltage-step ${one.gridMv} mV\n`}  menu {
${one.menu.map(([setting, page]) => `    ${setting} "${page}" "field of ${setting.replaceAll('"', '')}"\n`).join('')}  }
}
profile q {
  part p
  cooler c
  room r
  board b
  steps {
${one.steps.map(([from, to, ratio]) => `    ${counted(from, to)} ${ratio}x\n`).join('')}  }
  bands${one.returnK === undefined ? '' : ` return ${one.returnK} K`} {
${one.bands.map(([from, to, aboveC, drop]) => `    ${counted(from, to)} above ${aboveC} °C -${drop}x\n`).join('')}  }
${one.vector === undefined ? '' : `  vector -${one.vector}x\n`}  voltage {
    ${core}
${one.set.map(([ratio, millivolts]) => `    set ${ratio}x ${millivolts} mV\n`).join('')}  }
  limits { ${limits.join('; ')} }
${one.drive === undefined ? '' : `  drive ${one.drive}\n`}  fan {
${one.fan.map(([coolantC, dutyPct]) => `    ${coolantC} °C ${dutyPct} %\n`).join('')}  }
  also {
${one.also.map(([name, value]) => `    "${name}" "${value}"\n`).join('')}  }
}
`
}

/** The ratios that can be run at, by trying every count, temperature and kind of load. */
function ratiosOf(one: Drawn): readonly number[] {
  const found = new Set<number>(one.set.map(([ratio]) => ratio))
  for (let count = 1; count <= cores; count++) {
    const step = one.steps.find(([from, to]) => from <= count && count <= to)?.[2]
    if (step === undefined) continue
    for (let dieC = 20; dieC <= 100; dieC++) {
      const drops = one.bands
        .filter(([from, to, aboveC]) => from <= count && count <= to && aboveC <= dieC)
        .map(row => row[3])
      for (const vector of [0, one.vector ?? 0]) found.add(Math.max(lowest, step - vector - Math.max(0, ...drops)))
    }
  }
  return [...found]
}

const needs: readonly (readonly [number, number])[] = [
  [20, 800],
  [37, 950],
  [50, 1190],
  [60, 1400],
]

/** The voltage asked for at a ratio, in millivolts, by the weights of the two rows around it. */
function askedMv(one: Drawn, ratio: number): number {
  const rows = new Map(needs.map(([at, millivolts]) => [at, millivolts + (one.offsetMv ?? 0)]))
  for (const [at, millivolts] of one.set) rows.set(at, millivolts)
  const below = [...rows].filter(([at]) => at <= ratio).sort((a, b) => b[0] - a[0])[0]
  const above = [...rows].filter(([at]) => at >= ratio).sort((a, b) => a[0] - b[0])[0]
  if (below === undefined) return above![1]
  if (above === undefined || above[0] === below[0]) return below[1]
  const weight = (ratio - below[0]) / (above[0] - below[0])
  return (1 - weight) * below[1] + weight * above[1]
}

/** What must be on the sheet: `setting | row | asked`, with voltages in hundredths of a millivolt. */
function expected(one: Drawn): readonly string[] {
  const facts: string[] = []
  for (let count = 1; count <= cores; count++) {
    const step = one.steps.find(([from, to]) => from <= count && count <= to)
    if (step !== undefined) facts.push(`steps | ${counted(count, count)} | ${step[2]}x`)
  }
  for (const [from, to, aboveC, drop] of one.bands)
    facts.push(`bands | ${counted(from, to)} above ${aboveC} °C | -${drop}x`)
  if (one.returnK !== undefined) facts.push(`bands | return | ${one.returnK} K`)
  if (one.vector !== undefined) facts.push(`vector |  | -${one.vector}x`)
  if (one.fixedMv !== undefined) facts.push(`core-voltage | all ratios | ${(one.fixedMv * 100).toFixed(0)}`)
  else
    for (const ratio of ratiosOf(one))
      facts.push(`core-voltage | ${ratio}x | ${(askedMv(one, ratio) * 100).toFixed(0)}`)
  const { limits } = one
  if (limits.die !== undefined) facts.push(`die |  | ${limits.die} °C`)
  if (limits['sustained-power'] !== undefined) {
    facts.push(`sustained-power |  | ${limits['sustained-power']} W`)
    if (one.overS !== undefined) facts.push(`sustained-power | averaged over | ${one.overS} s`)
  }
  if (limits['burst-power'] !== undefined) facts.push(`burst-power |  | ${limits['burst-power']} W`)
  if (limits.current !== undefined) facts.push(`current |  | ${limits.current} A`)
  if (one.drive !== undefined) facts.push(`drive |  | ${one.drive}`)
  for (const [coolantC, dutyPct] of one.fan) facts.push(`fan | at ${coolantC} °C | ${dutyPct} %`)
  for (const [name, value] of one.also) facts.push(`also | ${name} | ${value}`)
  return facts.sort()
}

describe('a sheet of any profile', () => {
  it('has every value once, where the menu has it or as not covered, and names what it leaves out', async () => {
    await fc.assert(
      fc.asyncProperty(drawn, async one => {
        const uri = 'memory:///a.detent'
        const service = createService(memoryFiles({ [uri]: textOf(one) }))
        await service.workspace.load([uri])
        const sheet = sheetFor(service.workspace, uri, 'q')!
        const lines = sheet.pages.flatMap(page => page.lines.map(line => ({ page: page.page, ...line })))
        const found = lines.map(({ setting, row, asked, askedValue }) => {
          const shown = setting === 'core-voltage' ? ((askedValue ?? 0) * 100_000).toFixed(0) : asked
          return `${setting} | ${row} | ${shown}`
        })
        expect(found.sort()).toEqual(expected(one))

        const label = new Map(one.menu.map(([setting, page]) => [setting, page]))
        for (const { setting, row, page, field } of lines) {
          const key = setting === 'also' ? `"${row}"` : setting
          expect(page).toBe(label.get(key))
          expect(field).toBe(label.has(key) ? `field of ${key.replaceAll('"', '')}` : undefined)
        }
        expect(new Set(sheet.pages.map(({ page }) => page)).size).toBe(sheet.pages.length)

        for (const { setting, enterValue, askedValue, rounding } of lines) {
          if (setting !== 'core-voltage') continue
          if (one.gridMv !== undefined) {
            const steps = ((enterValue ?? 0) * 1000) / one.gridMv
            expect(Math.abs(steps - Math.round(steps))).toBeLessThan(1e-6)
          }
          expect(Math.abs((enterValue ?? 0) - (askedValue ?? 0))).toBeLessThanOrEqual((one.gridMv ?? 1) / 2000 + 1e-6)
          expect(rounding === undefined).toBe(Math.abs((enterValue ?? 0) - (askedValue ?? 0)) < 1e-6)
        }

        // A row without an entered core count is named, and so is a row that one fixed voltage makes void.
        const left = sheet.leftOut.map(({ text }) => text)
        one.steps.forEach(([from, to, ratio], index) => {
          const hidden = (count: number): boolean =>
            one.steps.slice(0, index).some(([a, b]) => a <= count && count <= b)
          const counts = Array.from({ length: to - from + 1 }, (_, more) => from + more)
          const whole = counts.every(count => count <= cores && !hidden(count))
          expect(left.includes(`${counted(from, to)} ${ratio}x`) || whole).toBe(true)
        })
        if (one.fixedMv !== undefined) {
          for (const [ratio, millivolts] of one.set) expect(left).toContain(`set ${ratio}x ${millivolts} mV`)
        }
      }),
      { numRuns: 150, seed: 20_260_112 },
    )
  })
})
