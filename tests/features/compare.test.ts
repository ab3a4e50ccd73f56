import { describe, expect, it } from 'vitest'
import { runsOfProfile } from '../../server/features/compare/for-profile.ts'
import { setsTheSame } from '../../server/features/compare/settings.ts'
import type { Comparison, Side } from '../../server/features/compare/types.ts'
import { compareMarkdown, compareProfiles, compareWords } from '../../server/service.ts'
import { loadFixture, uriOf } from '../harness/fixture.ts'
import { soundBench } from '../harness/sound-bench.ts'
import { soundSteps, twoGroups } from '../harness/two-groups.ts'

const uri = uriOf('a.detent')

const profiles = `profile daily {
  part willow-4
  cooler pond-loop
  room loft
  steps { 1 to 2 cores 48x; 3 to 4 cores 44x }
  voltage { core needs + 20 mV; set 48x 1.230 V }
  limits { sustained-power 90 W over 2 min }
  also { "memory clock" "3200 MT/s" }
}

profile quick based-on daily {
  steps { 1 core 48x; 2 to 4 cores 46x }
  limits { sustained-power 120 W }
  drive off
}
`

async function sides(runs = '', bench = soundBench, text = profiles): Promise<readonly Side[]> {
  const { service } = await loadFixture(`--- a.detent\ndetent 1\nuse "bench.detent"\n\n${text}\n${runs}\n${bench}`)
  return service.evaluations(uri).map(evaluation => {
    const { name } = evaluation.profile.definition
    return {
      label: name,
      file: 'a.detent',
      evaluation,
      expectations: service.expectations(evaluation),
      runs: runsOfProfile(service.workspace, uri, name),
    }
  })
}

const compare = async (...args: Parameters<typeof sides>): Promise<Comparison> => compareProfiles(await sides(...args))

let names = 0
/** A run with these scores. */
function run(profile: string, scores: readonly (number | string)[], date = '', load = 'weave'): string {
  const lines = scores.map(score => (typeof score === 'string' ? score : `score ${score} "points" higher`))
  names++
  return `run r-${names} of ${profile} under ${load} {\n${date === '' ? '' : `  date ${date}\n`}  ${lines.join('\n  ')}\n}\n`
}

describe('settings side by side', () => {
  it('are those that differ, key by key, core counts with the same ratios together', async () => {
    const { settings } = await compare()
    expect(settings.filter(({ isSame }) => !isSame).map(({ key, values }) => [key, ...values])).toEqual([
      ['steps 2 cores', '48x', '46x'],
      ['steps 3 to 4 cores', '44x', '46x'],
      ['limits sustained-power', '90 W', '120 W'],
      ['limits sustained-power averaged over', '120 s', null],
      ['drive', null, 'off'],
    ])
    expect(settings.filter(({ isSame }) => isSame).map(({ key, values }) => [key, values[0]])).toEqual([
      ['part', 'willow-4'],
      ['cooler', 'pond-loop'],
      ['room', 'loft'],
      ['steps 1 core', '48x'],
      ['voltage core', 'needs + 20 mV'],
      ['voltage set 48x', '1.230 V'],
      ['also memory clock', '3200 MT/s'],
    ])
  })

  it('have each correlation for itself, units behind a space, and many as one row', async () => {
    const withLines = (...lines: readonly string[]): string =>
      soundBench.replace('switching 2.0 nF', `switching 2.0nF ± 0.1nF\n  ${lines.join('\n  ')}`)
    const pairs = ['switching leakage', 'switching shared-power', 'leakage shared-power', 'leakage package-resistance']
    const lines = (r: number, among = pairs) => among.map(pair => `correlated ${pair} ${r}`)
    const settingsOf = async (old: readonly string[], own: readonly string[]) => {
      const [[before], [now]] = [await sides('', withLines(...old)), await sides('', withLines(...own))]
      return compareProfiles([{ ...before!, label: 'daily@old' }, now!])
    }
    const few = await settingsOf(lines(0.5, pairs.slice(0, 2)), lines(0.4, pairs.slice(0, 3)))
    expect(few.settings.filter(({ isSame }) => !isSame).map(({ key, values }) => [key, ...values])).toEqual([
      ['part correlated switching leakage', '0.5', '0.4'],
      ['part correlated switching shared-power', '0.5', '0.4'],
      ['part correlated leakage shared-power', null, '0.4'],
    ])
    const many = await settingsOf(lines(0.5), lines(0.4, pairs.slice(1)))
    expect(many.settings.filter(({ isSame }) => !isSame)).toHaveLength(4)
    expect(compareWords.shownSettings(many, 'different').map(compareWords.settingRow)).toEqual([
      ['part correlated: 4 lines differ', '4 lines', '3 lines'],
    ])
    const [stated, plain] = [await sides('', withLines()), await sides()]
    const { settings } = compareProfiles([{ ...stated[0]!, label: 'daily@old' }, plain[0]!])
    expect(settings.find(({ key }) => key === 'part switching')?.values).toEqual(['2.0 nF ± 0.1 nF', '2.0 nF'])
  })

  it('include constants of the bench that bear one name and are not the same', async () => {
    const [now] = await sides()
    const changed = soundBench
      .replace('switching 2.0 nF', 'switching 2000 pF')
      .replace('40x   1.040 V', '40x   1.050 V')
      .replace('100 % 0.06 K/W', '100 % 0.07 K/W')
      .replace('activity 1.0', 'activity 0.9')
    const [before] = await sides('', changed)
    const { settings } = compareProfiles([{ ...before!, label: 'daily@old' }, now!])
    // The switched capacitance is the same in another unit.
    expect(settings.filter(({ isSame }) => !isSame).map(({ key, values }) => [key, ...values])).toEqual([
      ['part needs 40x', '1.050 V', '1.040 V'],
      ['cooler radiator 100 %', '0.07 K/W', '0.06 K/W'],
      ['load weave activity', '0.9', '1.0'],
    ])
    expect(setsTheSame(before!.evaluation.profile, now!.evaluation.profile)).toBe(true)
  })

  it('tell whether two profiles set the same', async () => {
    const [daily, quick] = (await sides()).map(side => side.evaluation.profile)
    expect(setsTheSame(daily!, quick!)).toBe(false)
    expect(setsTheSame(daily!, daily!)).toBe(true)
  })
})

describe('predictions side by side', () => {
  const warm = soundBench.replace('air 22 °C', 'air 18 °C to 30 °C').replace('humidity 50 %', 'humidity 40 % to 60 %')

  it('are every corner’s, and the worst of each figure', async () => {
    const { predicted, worst } = await compare('', warm)
    const corners = predicted.filter(row => row.load === 'weave')
    expect(corners.map(({ profile, air_c }) => [profile, air_c])).toEqual(
      ['daily', 'quick'].flatMap(name => [18, 18, 30, 30].map(air => [name, air])),
    )
    for (const name of ['daily', 'quick']) {
      const own = corners.filter(({ profile }) => profile === name)
      const one = worst.find(({ profile, load }) => profile === name && load === 'weave')!
      expect(one).toMatchObject({
        cores: 4,
        clockMhz: Math.min(...own.map(row => row.clock_mhz ?? Number.NaN)),
        powerW: Math.max(...own.map(row => row.power_w ?? Number.NaN)),
        dieC: Math.max(...own.map(row => row.die_c ?? Number.NaN)),
        marginW: Math.min(...own.map(row => row.margin_w ?? Number.NaN)),
      })
    }
    const [daily, quick] = worst.filter(({ load }) => load === 'weave')
    expect(daily?.clockGainPct).toBeUndefined()
    expect(quick?.clockGainPct).toBeCloseTo(100 * ((quick?.clockMhz ?? 0) / (daily?.clockMhz ?? 1) - 1), 12)
    expect(worst.find(({ load }) => load === 'idle')).toMatchObject({ cores: 0, clockMhz: null })
  })

  it('show each group of cores that is at work, a case for each of its counts', async () => {
    const mix = 'load mix { cores broad 1 to 2; cores small 1 to 2; activity 0.8 }\n'
    const text = `${twoGroups(soundSteps, mix)}profile calm based-on day {\n  steps small { 1 to 10 cores 36x }\n}\n`
    const { service } = await loadFixture(`--- a.detent\n${text}`)
    const both = service.evaluations(uri).map(evaluation => {
      const label = evaluation.profile.definition.name
      return { label, file: 'a.detent', evaluation, expectations: [], runs: [] }
    })
    const { worst } = compareProfiles(both)
    const rows = worst.filter(({ load }) => load === 'mix').map(compareWords.predictedRow)
    expect(rows.map(([, cores, profile, clock, gain]) => [cores, profile, clock, gain])).toEqual(
      ['1 / 1', '1 / 2', '2 / 1', '2 / 2'].flatMap(cores => [
        [cores, 'day', '5300 / 4000', ''],
        [cores, 'calm', '5300 / 3600', '0.00 % / -10.0 %'],
      ]),
    )
    expect(compareWords.worstText({ worst })).toContain('in the part’s order')
  })

  it('have the watts that drive a plate behind those of the part', async () => {
    const plate = `cooler stack kind thermoelectric {
  modules 2
  module { seebeck 53 mV/K; resistance 0.80 Ω; conductance 1.4 W/K }
  drive-current 4 A
  block-resistance 0.04 K/W
  radiator { 100 % 0.05 K/W }
}
`
    const text = profiles.replace('  drive off', '  cooler stack\n  drive full')
    const { worst, predicted } = await compare('', soundBench, text + plate)
    const [daily, quick] = worst.filter(({ load }) => load === 'weave')
    const own = predicted.filter(({ load, profile }) => load === 'weave' && profile === 'quick')
    const driveW = Math.max(...own.map(row => row.drive_w ?? Number.NaN))
    expect(driveW).toBeGreaterThan(10)
    expect(daily?.driveW).toBeNull()
    expect(quick?.driveW).toBe(driveW)
    expect(compareWords.predictedRow(quick!)[5]).toBe(`${quick?.powerW?.toFixed(1)} + ${driveW.toFixed(1)}`)
    expect(compareWords.predictedRow(daily!)[5]).not.toContain('+')
  })

  it('have no figure where one corner has none', async () => {
    const hot = soundBench.replace('100 % 0.06 K/W', '100 % 9 K/W').replace('die-limit 95 °C', 'die-limit 350 °C')
    const { worst } = await compare('', hot)
    const one = worst.find(({ load }) => load === 'weave')
    expect(one).toMatchObject({ state: 'runaway', clockMhz: null, powerW: null, dieC: null, marginW: null })
  })

  it('say when the rooms are not one', async () => {
    const other = `${profiles.replace('  drive off', '  room attic')}\nroom attic { air 30 °C; humidity 50 % }\n`
    const { notes } = await compare('', soundBench, other)
    expect(notes.join()).toContain('The rooms differ (daily in loft, quick in attic)')
  })
})

describe('scores side by side', () => {
  // Student's sleep data (Biometrika 6, 1908) as R has it, ten more on each value, since scores are positive: the
  // differences stay. R 4: t.test(extra ~ group, paired = TRUE) p-value = 0.002833; Welch p-value = 0.07939.
  const first = [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0].map(value => Number((value + 10).toFixed(1)))
  const second = [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4].map(value => Number((value + 10).toFixed(1)))
  const day = (index: number): string => `2026-01-${String(index + 1).padStart(2, '0')} 21:00`

  it('are compared in pairs where both were run on the same days', async () => {
    // In another order in the file: time decides.
    const runs = [...second].map((value, index) => run('quick', [value], day(index))).reverse()
    const { scores } = await compare(
      [...first.map((value, index) => run('daily', [value], day(index))), ...runs].join(''),
    )
    expect(scores).toHaveLength(2)
    expect(scores[0]).toMatchObject({ profile: 'daily', verdict: 'baseline', n: 10, gainPct: null, p: null })
    expect(scores[0]?.mean).toBeCloseTo(10.75, 12)
    expect(scores[1]).toMatchObject({ profile: 'quick', method: 'paired', verdict: 'better', n: 10, days: 10 })
    expect(scores[1]?.p).toBeCloseTo(0.002833, 6)
    expect(scores[1]?.gainPct).toBeCloseTo(100 * (12.33 / 10.75 - 1), 10)
    expect(compareWords.scoreSentences(scores)).toEqual([
      "quick against daily: better, and by more than noise (10 pairs from 10 days, Student's t, p = 0.003).",
    ])
  })

  it("are independent without days, by Welch's test, as R has it", async () => {
    const { scores } = await compare(run('daily', first) + run('quick', second))
    expect(scores[1]).toMatchObject({ method: 'welch', verdict: 'not-shown', days: undefined })
    expect(scores[1]?.p).toBeCloseTo(0.07939, 5)
    expect(scores[1]?.intervalPct?.[0]).toBeLessThan(0)
    const [sentence] = compareWords.scoreSentences(scores)
    expect(sentence).toMatch(/\(10 and 10 scores, Welch's t, p = 0\.079\)/)
    expect(sentence).toContain('Each run is one sitting')
  })

  it.each([
    ['another day', ['2026-01-01', '2026-01-02'], ['2026-01-01', '2026-01-03'], 'welch'],
    ['a single day', ['2026-01-01 20:00', '2026-01-01 21:00'], ['2026-01-01 20:30', '2026-01-01 21:30'], 'welch'],
    ['a run without a date', ['2026-01-01', '2026-01-02'], ['2026-01-01', ''], 'welch'],
    ['the same two days', ['2026-01-01', '2026-01-02 09:00'], ['2026-01-01', '2026-01-02 23:00'], 'paired'],
  ])('with %s are compared as they belong together', async (_, one, other, method) => {
    const text = [
      ...one.map((date, index) => run('daily', [100 + index], date)),
      ...other.map((date, index) => run('quick', [103 + index], date)),
    ].join('')
    expect((await compare(text)).scores[1]?.method).toBe(method)
  })

  it('stay apart by load, unit and direction', async () => {
    const text =
      run('daily', ['score 41.2 "s" lower', 'score 41.3 "s" lower', 'score 900 "points" higher']) +
      run('quick', ['score 39.9 "s" lower', 'score 39.8 "s" lower']) +
      run('quick', [7], '', 'idle')
    const { scores } = await compare(text)
    expect(scores.map(({ load, unit, better, profile, verdict }) => [load, unit, better, profile, verdict])).toEqual([
      ['idle', 'points', 'higher', 'quick', 'baseline'],
      ['weave', 'points', 'higher', 'daily', 'baseline'],
      ['weave', 's', 'lower', 'daily', 'baseline'],
      ['weave', 's', 'lower', 'quick', 'better'],
    ])
  })

  it('say what they do not show, and when there are too few', async () => {
    const close = await compare(run('daily', [100, 103, 98]) + run('quick', [101, 99, 104]))
    expect(close.scores[1]?.verdict).toBe('not-shown')
    expect(compareWords.scoreSentences(close.scores)[0]).toMatch(
      /^quick against daily: these scores show no difference, which does not mean that there is none\. Anything from -.* % to \+.* % fits/,
    )
    const few = await compare(run('daily', [100]) + run('quick', [110]))
    expect(few.scores[1]).toMatchObject({ verdict: 'too-few', intervalPct: null, sd: null, method: 'none' })
    expect(compareWords.scoreSentences(few.scores)).toEqual([
      'quick against daily: +10.0 %, but too few scores (1 and 1) to tell it from noise: each side needs at least two.',
    ])
  })

  it('say of scores that scatter too much, and of ones that are all the same, just that', async () => {
    const wild = await compare(run('daily', [50, 150, 100]) + run('quick', [40, 42, 41]))
    expect(wild.scores[1]).toMatchObject({ verdict: 'not-shown', intervalPct: null, method: 'welch' })
    expect(compareWords.scoreSentences(wild.scores)[0]).toMatch(
      /these scores show no difference, .* They scatter too much for an interval \(3 and 3 scores, Welch's t, p = 0\.18\)/,
    )
    const same = await compare(run('daily', [100, 100]) + run('quick', [100, 100]))
    expect(compareWords.scoreSentences(same.scores)[0]).toMatch(
      /these scores are the same as far as they are written\. Anything from -1\.\d % to \+1\.\d % fits \(.*known to their last digit\)/,
    )
  })

  it('come with what did not last', async () => {
    const { notes } = await compare(run('quick', [100, 'stopped after 3 min "hang"']))
    expect(notes.join()).toMatch(/quick: the run r-\d+ under weave did not last: “hang”/)
  })
})

describe('a comparison as Markdown', () => {
  it('has predictions, scores in words, and what differs', async () => {
    const made = await compare(run('daily', [100, 101]) + run('quick', [110, 111]))
    const text = compareMarkdown(made)
    expect(text).toMatch(/^# quick against daily\n/)
    expect(text).toContain('## Predicted')
    expect(text).toContain('### weave, points (higher is better)')
    expect(text).toMatch(/\| steps 2 cores +\| 48x +\| 46x +\|/)
    expect(text).toContain('7 settings are the same.')
    expect(text).not.toMatch(/\| part +\|/)
    expect(compareMarkdown(made, 'all')).toMatch(/\| part +\| willow-4 +\| willow-4 +\|/)
  })
})
