import { describe, expect, it } from 'vitest'
import { temporaryFolder } from '../harness/process.ts'
import { predictFaults } from './contract.ts'
import { benchText, detent } from './helpers.ts'

interface Row {
  readonly [key: string]: unknown
  readonly file: string
  readonly profile: string
  readonly load: string
  readonly cores: number
  readonly air_c: number
  readonly humidity_pct: number
}

async function predictions(folder: string, ...args: string[]): Promise<readonly Row[]> {
  const { out, code } = await detent(folder, ['predict', '--output', 'json', ...args])
  expect(code).toBe(0)
  const value = JSON.parse(out) as { predictions: readonly Row[] }
  expect(predictFaults(value)).toEqual([])
  return value.predictions
}

const corners = benchText()
  .replace('air 20 °C', 'air 20 °C to 26 °C')
  .replace('humidity 40 %', 'humidity 40 % to 60 %')
  .replace('load work { cores 4;', 'load work { cores 1 to 3;')

describe('predict --output json', () => {
  it('has every key of the contract for every load, core count and corner, sorted', async () => {
    using folder = temporaryFolder({ 'b.detent': corners, 'a.detent': corners })
    const rows = await predictions(folder.path)
    // Two files × (three core counts of the load, and idle) × four corners.
    expect(rows).toHaveLength(2 * 4 * 4)
    const keys = rows.map(row =>
      [row.file, row.profile, row.load, row.cores, row.air_c, row.humidity_pct].map(String).join(' '),
    )
    expect(keys).toEqual([...keys].sort())
    expect(keys[0]).toBe('a.detent daily idle 0 20 40')
  })

  it('has null for figures that do not exist', async () => {
    using folder = temporaryFolder({ 'a.detent': benchText() })
    const rows = await predictions(folder.path)
    const idle = rows.find(row => row.load === 'idle')
    const none = ['ratio', 'ratio_low', 'ratio_high', 'clock_mhz', 'set_v', 'voltage_v', 'need_v', 'current_a']
    for (const key of [...none, 'dynamic_w', 'leakage_w', 'drive_a', 'drive_w']) expect(idle?.[key]).toBeNull()
    expect(idle).toMatchObject({ cores: 0, limiter: 'none', state: 'steady', power_w: 8 })
  })

  it('has full doubles: the clock, voltage and switching power of a steady step by hand', async () => {
    using folder = temporaryFolder({ 'a.detent': benchText() })
    const work = (await predictions(folder.path)).find(row => row.load === 'work')
    // 46x lies six tenths of the way from 1.000 V at 40x to 1.200 V at 50x; 4 cores · 0.8 · 2 nF · V² · 4.6 GHz.
    expect(work?.clock_mhz).toBeCloseTo(4600, 9)
    expect(work?.set_v).toBeCloseTo(1.12, 12)
    expect(work?.dynamic_w).toBeCloseTo(4 * 0.8 * 2 * 1.12 ** 2 * 4.6, 9)
  })

  it('names the defaults that took a value’s place', async () => {
    using folder = temporaryFolder({ 'a.detent': benchText() })
    const work = (await predictions(folder.path)).find(row => row.load === 'work')
    expect(work?.assumed).toEqual(expect.arrayContaining(['plate-heat 150 J/K (factor 1.6)', 'ratio-step 1x']))
  })

  it('names the default that took the place of a line that does not read', async () => {
    using folder = temporaryFolder({ 'a.detent': benchText('  limits { current 150 V }\n  vectr -1x\n') })
    const { out } = await detent(folder.path, ['predict', '--output', 'json'])
    const rows = (JSON.parse(out) as { predictions: readonly Row[] }).predictions
    for (const row of rows) expect(row.assumed).toEqual(expect.arrayContaining(['current none', 'without `vectr -1x`']))
  })

  it('does not mind where the call is made from', async () => {
    using folder = temporaryFolder({ 'deep/a.detent': benchText() })
    const above = await predictions(folder.path)
    expect(new Set(above.map(row => row.file))).toEqual(new Set(['deep/a.detent']))
  })
})

describe('intervals', () => {
  const uncertain = (share: number): string => {
    const text = benchText('  expect work die <= 90 °C').replace('switching 2 nF', `switching 2 nF ± ${share} %`)
    const leaking = text.replace('leakage 8 W at', `leakage 8 W ± ${share} % at`)
    return leaking.replace('package-resistance 0.10 K/W', `package-resistance 0.10 K/W ± ${share} %`)
  }
  type Ends = readonly [number, number] | null
  interface Spread extends Row {
    readonly interval?: Readonly<Record<string, Ends>>
    readonly interval_by?: string
  }
  const spreadRows = async (text: string): Promise<readonly Spread[]> => {
    using folder = temporaryFolder({ 'a.detent': text })
    return await predictions(folder.path)
  }

  it('stand in the JSON where constants carry `±`, about the figures, and nowhere else', async () => {
    for (const row of await spreadRows(benchText())) expect(Object.keys(row)).not.toContain('interval')
    for (const share of [1, 10]) {
      const rows = await spreadRows(uncertain(share))
      const work = rows.find(row => row.load === 'work')
      expect(work?.interval_by).toBe(share === 1 ? 'first-order' : 'draws')
      for (const key of ['power_w', 'die_c', 'plate_c', 'margin_w']) {
        const [low, high] = work?.interval?.[key] ?? []
        expect(low, key).toBeLessThan(Number(work?.[key]))
        expect(high, key).toBeGreaterThan(Number(work?.[key]))
      }
      expect(work?.interval?.clock_mhz).toEqual([expect.closeTo(4600, 9), expect.closeTo(4600, 9)])
      // Neither switching nor leakage is any of idle's power.
      const idle = rows.find(row => row.load === 'idle')
      expect(idle?.interval?.clock_mhz).toBeNull()
      expect(idle?.interval?.power_w).toEqual([8, 8])
    }
  })

  it('are ten times as wide, or about that, by ten times the uncertainty', async () => {
    const widths = await Promise.all(
      [1, 10].map(async share => {
        const work = (await spreadRows(uncertain(share))).find(row => row.load === 'work')
        const [low = 0, high = 0] = work?.interval?.power_w ?? []
        return high - low
      }),
    )
    expect((widths[1] ?? 0) / (widths[0] ?? 1)).toBeGreaterThan(9)
    expect((widths[1] ?? 0) / (widths[0] ?? 1)).toBeLessThan(11)
  })

  it('stand in the text where they are asked for', async () => {
    using folder = temporaryFolder({ 'a.detent': uncertain(10) })
    expect((await detent(folder.path, ['predict'])).out).not.toContain('95 %')
    const { out } = await detent(folder.path, ['predict', '--uncertainty'], { columns: 160 })
    expect(out).toContain('95 % intervals from the stated ±; draws: 2000 seeded draws decide')
    expect(out).toMatch(/^work +4 .* 4600 +[\d.]+ to [\d.]+ +[\d.]+ to [\d.]+ +[\d.]+ to [\d.]+ +\d+ to \d+ {2}draws$/m)
    using plain = temporaryFolder({ 'a.detent': benchText() })
    const without = await detent(plain.path, ['predict', '--uncertainty'])
    expect(without.out).toContain('every constant of this bench is stated without ±: no intervals')
    using unknown = temporaryFolder({ 'a.detent': benchText().replace('  switching 2 nF\n', '') })
    const hint = 'Usual values count for what is left out: --uncertainty shows how far off the figures may be.'
    expect((await detent(unknown.path, ['predict'], { columns: 160 })).out).toContain(hint)
    const usual = await detent(unknown.path, ['predict', '--uncertainty'], { columns: 160 })
    expect(usual.out).not.toContain(hint)
    expect(usual.out).toContain('95 % intervals from usual values; draws: 2000 seeded draws decide')
  })

  it('stand in the report', async () => {
    using folder = temporaryFolder({ 'a.detent': uncertain(1) })
    const { out } = await detent(folder.path, ['report', '--output', 'markdown'])
    expect(out).toContain('### 95 % intervals from the stated ±')
    expect(out).toMatch(/^\| work +\| 4 .* to .* to .*\|$/m)
    expect(out).toMatch(/^\| work +\| 4 .*first order +\|$/m)
    using plain = temporaryFolder({ 'a.detent': benchText() })
    expect((await detent(plain.path, ['report', '--output', 'markdown'])).out).not.toContain('95 % intervals')
  })

  it('go neither with runs nor with time', async () => {
    using folder = temporaryFolder({ 'a.detent': benchText() })
    for (const other of [['--runs'], ['--over', '10s']]) {
      const { code, err } = await detent(folder.path, ['predict', '--uncertainty', ...other])
      expect(code).toBe(2)
      expect(err).toContain('--uncertainty cannot be combined with --runs or --over')
    }
  })
})

describe('predict as text', () => {
  const twoHumidities = benchText().replace('humidity 40 %', 'humidity 40 % to 60 %')

  it('has one row where the humidity changes nothing', async () => {
    using folder = temporaryFolder({ 'a.detent': twoHumidities })
    const { out } = await detent(folder.path, ['predict', '--all'], { columns: 160 })
    expect(out.match(/^work .*20 °C 40 to 60 % /gm)).toHaveLength(1)
    expect(out).not.toContain('drive W')
  })

  it('says what a cold plate takes, and how far it is above the dew or frost point', async () => {
    const plate = `cooler stack kind thermoelectric {
  modules 2
  module { seebeck 53 mV/K; resistance 0.80 Ω; conductance 1.4 W/K }
  drive-current 4 A
  block-resistance 0.04 K/W
  radiator { 100 % 0.05 K/W }
}
profile cold based-on daily { cooler stack }
`
    using folder = temporaryFolder({ 'a.detent': twoHumidities + plate })
    const { out } = await detent(folder.path, ['predict', '--all'], { columns: 160 })
    const rows = (await predictions(folder.path)).filter(({ profile, load }) => profile === 'cold' && load === 'work')
    expect(rows).toHaveLength(2)
    for (const { humidity_pct, drive_w, wet_c, plate_c } of rows as unknown as Record<string, number>[]) {
      const above = ((plate_c ?? 0) - (wet_c ?? 0)).toFixed(1)
      const figures = [(wet_c ?? 0).toFixed(1), above, '[\\d.]+', (drive_w ?? 0).toFixed(1)]
      expect(out).toMatch(new RegExp(`^work .* 20 °C ${humidity_pct} % .* ${figures.join(' +')} `, 'm'))
    }
  })
})

describe('predict', () => {
  it('says which lines it left out, and in what file', async () => {
    const own = benchText('  limits { current 150 V }\n  vectr -1x\n')
    const at = (text: string, piece: string): number => text.slice(0, text.indexOf(piece)).split('\n').length
    const [first, second] = [at(own, 'current 150 V'), at(own, 'vectr')]
    using folder = temporaryFolder({ 'a.detent': own })
    for (const args of [['predict'], ['predict', '--over', '10s']]) {
      const { out } = await detent(folder.path, args)
      expect(out).toContain(`predicted without lines ${first} and ${second}, which do not read`)
    }
    const from = 'detent 1\nuse "a.detent"\nprofile other based-on daily { vector 2x }\n'
    using both = temporaryFolder({ 'a.detent': benchText('  vectr -1x\n'), 'b.detent': from })
    const { out } = await detent(both.path, ['predict', 'b.detent'])
    expect(out).toContain('predicted without line 3 and line ')
    expect(out).toContain(' of a.detent, which do not read')
    using sound = temporaryFolder({ 'a.detent': benchText() })
    expect((await detent(sound.path, ['predict'])).out).not.toContain('predicted without')
  })

  it('prints an aligned table for each profile, defaults once below it', async () => {
    using folder = temporaryFolder({ 'a.detent': corners })
    const { code, out, err } = await detent(folder.path, ['predict', '--all'])
    expect({ code, err }).toEqual({ code: 0, err: '' })
    const lines = out.split('\n')
    expect(lines[0]).toMatch(/^profile daily {2}a\.detent:\d+$/)
    const head = lines.findIndex(line => line.startsWith('load'))
    const rows = lines.slice(head + 1, head + 9)
    const stateColumn = lines[head]!.indexOf('state')
    expect(rows.every(row => row.startsWith('steady', stateColumn))).toBe(true)
    expect(out.match(/assumed:/g)).toHaveLength(1)
  })

  it('says what a profile lacks, predicts the others, and ends with 1', async () => {
    using folder = temporaryFolder({
      'a.detent': benchText().replace('  reference 100 MHz\n', ''),
      'b.detent': benchText(),
    })
    const { code, out, err } = await detent(folder.path, ['predict', '--output', 'json'])
    expect(code).toBe(1)
    expect(err).toMatch(/^a\.detent:\d+: profile daily is not predicted: part `sample` has no `reference`\.\n$/)
    const { predictions: rows } = JSON.parse(out) as { predictions: readonly Row[] }
    expect(new Set(rows.map(row => row.file))).toEqual(new Set(['b.detent']))
  })

  it('says where a name leads nowhere, or a line does not read', async () => {
    using folder = temporaryFolder({
      'a.detent': benchText().replace('  room den\n', '  room attic\n'),
      'b.detent': benchText().replace('  switching 2 nF\n', '  switching 2 K\n'),
      'c.detent': 'detent 1\nprofile night based-on dusk { vector -1x }\n',
    })
    const { err } = await detent(folder.path, ['predict'])
    expect(err).toContain('the room it names is not known')
    expect(err).toContain('`switching` of part `sample` does not read')
    expect(err).toContain('the profile it starts from is not known')
  })

  it('has nothing to say where there are no profiles', async () => {
    using folder = temporaryFolder({ 'a.detent': 'detent 1\n' })
    expect(await detent(folder.path, ['predict'])).toEqual({ code: 0, out: 'No profiles here.\n', err: '' })
  })
})

describe('predict by name', () => {
  const two = `${benchText()}profile quiet based-on daily { steps { 1 to 4 cores 40x } }\n`

  it('takes names of profiles first, in the order of the call', async () => {
    using folder = temporaryFolder({ 'bench/a.detent': two })
    const { code, out } = await detent(folder.path, ['predict', 'quiet', 'daily', 'bench'])
    expect(code).toBe(0)
    expect(out.match(/^profile \S+/gm)).toEqual(['profile quiet', 'profile daily'])
    const only = await detent(folder.path, ['predict', '--output', 'json', 'quiet'])
    const rows = (JSON.parse(only.out) as { predictions: readonly Row[] }).predictions
    expect(new Set(rows.map(({ profile }) => profile))).toEqual(new Set(['quiet']))
  })

  it('says which there are where nothing has a name', async () => {
    using folder = temporaryFolder({ 'a.detent': two })
    const { code, err } = await detent(folder.path, ['predict', 'quite'])
    expect({ code, err }).toEqual({ code: 2, err: 'detent: There is no profile quite here; did you mean quiet?\n' })
  })

  it('takes what is there as a file or folder for one', async () => {
    using folder = temporaryFolder({ 'quiet/a.detent': two, 'b.detent': benchText() })
    const { out } = await detent(folder.path, ['predict', 'quiet'])
    expect(out.match(/^profile \S+/gm)).toEqual(['profile daily', 'profile quiet'])
  })
})

describe('what predict shows a person', () => {
  const loads = corners.replace('load work', 'load zeal { cores 4; activity 1.1 }\nload work')
  const more = 'profile beta based-on daily { vector -1x }\nprofile alpha based-on daily { vector -2x }\n'

  it('keeps the order of the file, while JSON is sorted', async () => {
    using folder = temporaryFolder({ 'a.detent': loads + more })
    const { out } = await detent(folder.path, ['predict', 'a.detent'])
    expect(out.match(/^profile \S+/gm)).toEqual(['profile daily', 'profile beta', 'profile alpha'])
    const first = out.slice(0, out.indexOf('assumed'))
    expect([...new Set(first.match(/^(?:zeal|work|idle)/gm))]).toEqual(['zeal', 'work', 'idle'])
    const rows = await predictions(folder.path)
    expect([...new Set(rows.map(({ profile }) => profile))]).toEqual(['alpha', 'beta', 'daily'])
  })

  it('is one worst corner a load, and every one with --all', async () => {
    using folder = temporaryFolder({ 'a.detent': corners })
    const { out } = await detent(folder.path, ['predict'], { columns: 200 })
    // Core counts at one clock share a row: the warmest corner with most cores decides.
    expect(out.match(/^work .*$/gm)).toHaveLength(1)
    expect(out).toMatch(/^work +1 to 3 +26 °C 40 % +4600 /m)
    expect(out).toContain('--all shows')
    const all = await detent(folder.path, ['predict', '--all'], { columns: 200 })
    expect(all.out.match(/^work .*$/gm)).toHaveLength(6)
    expect(all.out).not.toContain('--all shows')
  })

  it('is the corner in which the limit is passed, whatever the clock', async () => {
    const weak = corners.replace('radiator { 100 % 0.1 K/W }', 'radiator { 100 % 0.4 K/W }')
    using folder = temporaryFolder({ 'a.detent': weak.replace('die-limit 100 °C', 'die-limit 48 °C') })
    const rows = await predictions(folder.path)
    const worst = rows.filter(({ load, cores }) => load === 'work' && cores === 3).at(-1)
    expect(worst?.state).not.toBe('steady')
    const { out } = await detent(folder.path, ['predict'], { columns: 200 })
    expect(out).toMatch(new RegExp(`^work .* 26 °C .* ${worst?.state as string} `, 'm'))
  })

  it.each([[undefined], [100], [60], [40]])('fits %s columns', async columns => {
    using folder = temporaryFolder({ 'a.detent': corners + more })
    for (const args of [['predict'], ['predict', '--all'], ['predict', '--over', '5s']]) {
      const { out } = await detent(folder.path, args, columns === undefined ? {} : { columns })
      const longest = Math.max(...out.split('\n').map(line => line.length))
      expect(longest, args.join(' ')).toBeLessThanOrEqual(columns ?? 80)
    }
  })
})
