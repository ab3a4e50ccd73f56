import { describe, expect, it } from 'vitest'
import { check, checkerOf, fixed } from '../harness/check.ts'
import { onBench, soundBench } from '../harness/sound-bench.ts'

const checkMissing = checkerOf('missing-key')
const steps = '  steps { 1 to 4 cores 46x }'

describe('missing-key', () => {
  it('names every key that a room lacks, once', async () => {
    const [finding] = await check('detent 1\nroom loft { }\n     ^^^^ missing-key\n')
    expect(finding?.message).toContain('lacks `air` and `humidity`')
  })

  it('lets a whole definition pass, and keys with a default stay away', () => check(onBench(steps)))

  it.each([
    ['chilled', 'lacks `coolant`, `capacity` and `beyond`.'],
    ['thermoelectric', 'lacks `modules`, `module` and `drive-current`.'],
  ])('asks of a cooler of kind %s what that kind needs', async (kind, lacks) => {
    const [finding] = await checkMissing(`detent 1\ncooler pond kind ${kind} { }\n       ^^^^ missing-key\n`)
    expect(finding?.message).toContain(lacks)
  })

  it.each(['air', 'loop'])('asks nothing of a cooler of kind %s: all it has counts as usual', async kind => {
    await checkMissing(`detent 1\ncooler pond kind ${kind} { }\n`)
  })

  it('asks of a part for plain facts, limits and voltages alone', async () => {
    const [finding] = await checkMissing('detent 1\npart willow { }\n     ^^^^^^ missing-key\n')
    expect(finding?.message).toContain('lacks `cores`, `reference`, `ratio`, `core-voltage`, `die-limit` and `needs`.')
  })

  it('wants a row of a table that stands there, though it could be left out', () =>
    checkMissing('detent 1\ncooler pond kind loop {\n  radiator { }\n  ^^^^^^^^ missing-key\n}\n'))

  it('names the profiles that cannot be predicted', async () => {
    const fixture = soundBench
      .replace('  cores 4\n', '')
      .replace('part willow-4 {', 'part willow-4 {\n     ^^^^^^^^ missing-key')
    const [finding] = await check(
      `${fixture}\nprofile daily {\n  part willow-4\n  cooler pond-loop\n  room loft\n${steps}\n}\n`,
    )
    expect(finding?.message).toContain('Nothing can be predicted for `daily` until it is there.')
  })

  it('asks for voltages where neither `needs` nor `known` has any', async () => {
    const lacking = soundBench.replace(/ {2}needs \{[^}]*\}\n/, '')
    expect(lacking).not.toContain('needs {')
    const known = (row: string): string => lacking.replace('  cores 4\n', `  cores 4\n  known { ${row} }\n`)
    const marked = (text: string): string =>
      text.replace('part willow-4 {', 'part willow-4 {\n     ^^^^^^^^ missing-key')
    const [finding] = await checkMissing(marked(lacking))
    expect(finding?.message).toContain('The part `willow-4` lacks `needs`.')
    await checkMissing(marked(known('4.6 GHz 90 W')))
    await checkMissing(known('4.6 GHz 1.15 V 90 W'))
  })

  it('does not count a key as missing that stands on a line in error', () =>
    check(`detent 1
room loft {
  air
  ^^^ syntax
  humidity 50
           ^^ unit-missing
}
`))

  it('finds a module with half a set of figures', async () => {
    const [finding] = await checkMissing(`detent 1
cooler plate kind thermoelectric {
  modules 1
  module { seebeck 50 mV/K; resistance 1 Ω }
  ^^^^^^ missing-key
  drive-current 5 A
  block-resistance 0.03 K/W
  radiator { 100 % 0.05 K/W }
}
`)
    expect(finding?.message).toContain('The module lacks `conductance`.')
  })

  it('lets a module pass with either set', () =>
    checkMissing(`detent 1
cooler a kind thermoelectric {
  modules 1
  module { seebeck 50 mV/K; resistance 1 Ω; conductance 1 W/K }
  drive-current 5 A
  block-resistance 0.03 K/W
  radiator { 100 % 0.05 K/W }
}
cooler b kind thermoelectric {
  modules 1
  module { at 27 °C; current 15 A; voltage 15.4 V; difference 68 K }
  drive-current 5 A
  block-resistance 0.03 K/W
  radiator { 100 % 0.05 K/W }
}
`))

  it('finds a table without a row', () =>
    check(`detent 1
cooler pond kind loop {
  block-resistance 0.05 K/W
  radiator { note "to be measured" }
  ^^^^^^^^ missing-key
}
`))

  it('finds what a profile has from nowhere', async () => {
    const [finding] = await check('detent 1\nprofile daily { vector -1x }\n        ^^^^^ missing-key\n')
    expect(finding?.message).toContain('lacks `part`, `cooler`, `room` and `steps`. Nothing can be predicted for it')
  })

  it('lets a profile have it from the one it starts from', () =>
    check(onBench(steps, 'profile night based-on daily { vector -1x }')))

  it('tells a mistake of a chain once, where the chain begins', () =>
    check(`--- a.detent
detent 1
use "bench.detent"
profile daily {
        ^^^^^ missing-key
  part willow-4
  room loft
${steps}
}
profile night based-on daily { vector -1x }
${soundBench}`))

  it('takes a profile that others complete for a beginning, and tells those that do not', async () => {
    const findings = await check(`--- a.detent
detent 1
use "bench.detent"
profile common {
        ^^^^^^ missing-key
  part willow-4
  cooler pond-loop
${steps}
}
profile summer based-on common { room loft }
profile winter based-on common { vector -1x }
        ^^^^^^ missing-key
${soundBench}`)
    expect(findings.map(({ profile, severity }) => `${profile} ${severity}`)).toEqual([
      'common information',
      'winter error',
    ])
  })

  it('is milder in a file that others use: one of them may complete it', async () => {
    const [finding] = await check(`--- a.detent
detent 1
use "b.detent"
--- b.detent
detent 1
profile common { vector -1x }
        ^^^^^^ missing-key
`)
    expect(finding?.severity).toBe('information')
  })

  it('finds a file without its version, and begins it', async () => {
    await check('room loft { air 22 °C; humidity 50 % }\n^^^^^^^^^ missing-key\n')
    expect(await fixed('missing-key', '# mine\nroom loft { air 22 °C; humidity 50 % }\n')).toBe(
      'detent 1\n\n# mine\nroom loft { air 22 °C; humidity 50 % }\n',
    )
  })

  it('says nothing of an empty file, and nothing where the version is misspelt', async () => {
    await check('# nothing yet\n')
    await check('detnt 1\n^^^^^ unknown-word\nroom loft { air 22 °C; humidity 50 % }\n')
  })
})
