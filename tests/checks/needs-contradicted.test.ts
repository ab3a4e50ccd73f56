import { describe, expect, it } from 'vitest'
import { check, checkerOf } from '../harness/check.ts'
import { loadFixture, uriOf } from '../harness/fixture.ts'
import { onBench } from '../harness/sound-bench.ts'
import { demo, edited, findingsOf, placesOf } from './demo.ts'

const code = 'needs-contradicted'
const found = checkerOf(code)

/** The bench of the example with other lines in the run, and further runs below. */
const withRun = (lines: string, more = ''): string =>
  `${edited(demo(code), [`  measured { voltage 1.235 V }\n  stopped after 12 min "hang"`, lines])}${more}`

const stop = (voltage: string, what = 'hang'): string =>
  `  measured { voltage ${voltage} }\n  stopped after 12 min "${what}"`
const run = (name: string, lines: string): string => `\nrun ${name} of daily under burn {\n${lines}\n}\n`

describe('needs-contradicted', () => {
  it('stands at the row and at the run, also in another file', async () => {
    const lines = `  steps { 1 to 4 cores 46x }
  voltage { core needs + 20 mV }
  expect weave holds >= 4.5 GHz`
    const more = `
run a of daily under weave { stopped after 3 min "crash" }
run b of daily under weave { stopped after 40 min "hang" }
run c of daily under weave { stopped after 2 h "restart" }`
    const marked = onBench(lines, more)
      .replace('  expect weave holds >= 4.5 GHz', '$&\n  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ expect-undecided')
      .replace('"crash" }', '$&\n                             ^^^^^^^^^^^^^^^^^^^^^^^^^^^ needs-contradicted')
      .replace('"hang" }', '$&\n                             ^^^^^^^^^^^^^^^^^^^^^^^^^^^ needs-contradicted')
      .replace('"restart" }', '$&\n                             ^^^^^^^^^^^^^^^^^^^^^^^^^^^ needs-contradicted')
      .replace('    50x   1.240 V', '$&\n    ^^^^^^^^^^^^^ needs-contradicted')
      .replace('    30x   0.930 V', '$&\n    ^^^^^^^^^^^^^ needs-untested')
    await check(marked)
  })

  it('names the run, what was seen and the voltage', async () => {
    const [row, atRun] = await found(`--- a.detent\n${withMarks(demo(code))}`)
    expect(row?.message).toMatch(
      /^Need contradicted: 50x takes more than 1\.220 V. Run `evening` stopped after 12 min \(“hang”\) with 1\.235 V at the die\. After all trials 50x takes 1\.25\d V ± 1\d mV to hold 1 h with 95 % probability\./,
    )
    expect(atRun?.message).toMatch(
      /^This stop contradicts `needs` of part `sample-q4`: 1\.235 V at the die \(measured\)/,
    )
    expect(atRun).toMatchObject({ profile: 'daily', load: 'burn' })
  })

  it('takes the predicted voltage where none was measured', async () => {
    const text = withRun('  stopped after 12 min "hang"')
    expect(await placesOf(code, text)).toEqual(['50x 1.220 V', 'stopped after 12 min "hang"'])
  })

  it('is silent where the die had clearly less than `needs` asks for: that the run bears out', async () => {
    expect(await placesOf(code, withRun(stop('1.200 V')))).toEqual([])
    expect(await placesOf(code, withRun(stop('1.220 V')))).not.toEqual([])
  })

  it('takes a stop far above what is stated for one that is probably not the voltage’s', async () => {
    expect(await placesOf(code, withRun(stop('1.320 V')))).toEqual([])
  })

  it.each(['overheated', 'the pump failed', 'fan stuck', 'power cut', 'stopped by hand', 'thermal trip'])(
    'is silent where the voltage is not the cause: %s',
    async what => {
      expect(await placesOf(code, withRun(stop('1.235 V', what)))).toEqual([])
    },
  )

  it('is silent where the die was at the limit of the part', async () => {
    expect(
      await placesOf(code, withRun('  measured { voltage 1.235 V; die 100 °C }\n  stopped after 1 min "hang"')),
    ).toEqual([])
    expect(
      await placesOf(code, withRun('  measured { voltage 1.235 V; die 99 °C }\n  stopped after 1 min "hang"')),
    ).not.toEqual([])
  })

  it('speaks against faster rows that are said to need no more, and not against slower ones', async () => {
    const text = edited(demo(code), ['53x   1.290 V', '53x   1.240 V'])
    expect(await placesOf(code, text)).toEqual(['50x 1.220 V', '53x 1.240 V', 'stopped after 12 min "hang"'])
  })

  it('is outweighed by hours that held at no more voltage', async () => {
    const held = (time: string, voltage: string): string =>
      run('quiet', `  measured { voltage ${voltage} }\n  held ${time}`)
    expect(await placesOf(code, withRun(stop('1.235 V'), held('4 h', '1.215 V')))).toEqual([])
    expect(await placesOf(code, withRun(stop('1.235 V'), held('10 min', '1.235 V')))).not.toEqual([])
    expect(await placesOf(code, withRun(stop('1.235 V'), held('4 h', '1.270 V')))).not.toEqual([])
  })

  it('writes the row that the trials have, which is then not contradicted', async () => {
    const [row] = await findingsOf(code, demo(code))
    const [fix] = row?.finding.fixes ?? []
    expect(fix?.title).toMatch(/^Write 1\.25\d V ± 0\.01\d V, as the trials have it$/)
    const written = edited(demo(code), ['1.220 V', fix?.edits[0]?.text ?? ''])
    expect(await placesOf(code, written)).toEqual([])
    // Beyond what is allowed for the part there is nothing to write.
    const [tight] = await findingsOf(code, edited(demo(code), ['0.65 V to 1.45 V', '0.65 V to 1.24 V']))
    expect(tight?.finding.fixes ?? []).toEqual([])
  })

  it('leaves `holds` expectations undecided, unless the voltage was itself held for an hour', async () => {
    const expected = edited(demo(code), [
      'core needs + 15 mV }',
      'core needs + 15 mV }\n  expect burn holds >= 4.9 GHz',
    ])
    const judged = async (text: string) => {
      const { service } = await loadFixture(text)
      const [evaluation] = service.evaluations(uriOf('a.detent'))
      if (evaluation === undefined) throw new Error('no profile')
      return { evaluation, service, one: service.expectations(evaluation)[0] }
    }
    const { one, service, evaluation } = await judged(expected)
    expect(one).toMatchObject({ holds: null, predicted: 5, doubt: { code } })
    expect(one?.undecided).toBe('run `evening` stopped at 50x with 1.235 V at the die, where `needs` asks for 1.220 V')
    expect(service.features.lenses(uriOf('a.detent'))[0]?.text).toBe('0 of 1 expectation holds, 1 undecided')
    expect(service.probability(evaluation, one as NonNullable<typeof one>)).toBeUndefined()
    // At a voltage that is likely enough after all trials it is held all the same.
    const more = edited(expected, ['needs + 15 mV', 'needs + 30 mV'])
    expect((await judged(more)).one?.holds).toBe(null)
    const proven = `${more}${run('quiet', '  measured { voltage 1.250 V }\n  held 2 h')}`
    expect((await judged(proven)).one?.holds).toBe(true)
    const other = edited(expected, ['holds >= 4.9 GHz', 'die <= 95 °C'])
    expect((await judged(other)).one?.holds).toBe(true)
  })

  it('can be accepted at the part and at the run', async () => {
    const accepted = edited(
      demo(code),
      ['  die-limit 100 °C', '  die-limit 100 °C\n  allow needs-contradicted "to be measured again"'],
      ['  air 21 °C', '  air 21 °C\n  allow needs-contradicted "the same"'],
    )
    await check(accepted)
  })
})

/** The example's findings as marks. */
function withMarks(text: string): string {
  return text
    .replace('    50x   1.220 V', '$&\n    ^^^^^^^^^^^^^ needs-contradicted')
    .replace('  stopped after 12 min "hang"', '$&\n  ^^^^^^^^^^^^^^^^^^^^^^^^^^^ needs-contradicted')
}
