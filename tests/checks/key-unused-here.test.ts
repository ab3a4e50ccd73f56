import { describe, expect, it } from 'vitest'
import { check, checkerOf, fixed } from '../harness/check.ts'
import { partText } from '../harness/make-text.ts'
import { onBench } from '../harness/sound-bench.ts'

const checkUnused = checkerOf('key-unused-here')
const steps = '  steps { 1 to 4 cores 46x }'

describe('key-unused-here', () => {
  it('finds a key that this kind of cooler does not use', () =>
    check(`detent 1
cooler pond kind loop {
  block-resistance 0.05 K/W
  radiator { 100 % 0.06 K/W }
  capacity 300 W
  ^^^^^^^^^^^^^^ key-unused-here
}
`))

  it('lets the kind pass that uses it', () =>
    check(`detent 1
cooler cold kind chilled {
  block-resistance 0.05 K/W
  coolant 8 °C
  capacity 300 W
  beyond 0.1 K/W
}
`))

  it('removes it', async () => {
    const text = await fixed(
      'key-unused-here',
      'detent 1\ncooler pond kind loop { block-resistance 0.05 K/W; radiator { 100 % 0.06 K/W }; capacity 300 W }\n',
    )
    expect(text).toBe('detent 1\ncooler pond kind loop { block-resistance 0.05 K/W; radiator { 100 % 0.06 K/W } }\n')
  })

  it('finds a drive without a thermoelectric plate', async () => {
    await checkUnused(onBench(`${steps}\n  drive dew + 2 K\n  ^^^^^^^^^^^^^^^ key-unused-here`))
    expect(await fixed('key-unused-here', onBench(`${steps}\n  drive off`))).not.toContain('drive')
  })

  it('finds `set` beside one fixed voltage, and lets it pass beside the needs', async () => {
    await checkUnused(
      onBench(`${steps}
  voltage {
    core fixed 1.2 V
    set 46x 1.18 V
    ^^^^^^^^^^^^^^ key-unused-here
  }`),
    )
    await checkUnused(onBench(`${steps}\n  voltage {\n    core needs\n    set 46x 1.18 V\n  }`))
  })

  it('finds a fan table with chilled coolant', () =>
    checkUnused(`detent 1
cooler cold kind chilled {
  block-resistance 0.05 K/W
  coolant 8 °C
  capacity 300 W
  beyond 0.1 K/W
}
profile daily {
  cooler cold
  fan { 20 °C 100 % }
  ^^^ key-unused-here
}
`))
})

describe('key-unused-here on the supply of a plate', () => {
  const plate = (
    supply: string,
    drive: string,
    module = 'at 27 °C; current 15 A; voltage 15.4 V; difference 68 K',
  ): string => `detent 1
${partText('willow-4')}cooler plate kind thermoelectric {
  modules 4
  module { ${module} }
  drive-current 4 A
${supply}
  block-resistance 0.03 K/W
  radiator { 100 % 0.05 K/W }
}
room loft { air 22 °C; humidity 5 % }
profile daily {
  part willow-4
  cooler plate
  room loft
  steps { 1 to 4 cores 46x }
  voltage { core needs + 20 mV }
  drive ${drive}
}
`
  const wired = '  wiring 2 by 2\n  ^^^^^^^^^^^^^ key-unused-here\n  leads 20 mΩ\n  ^^^^^^^^^^^ key-unused-here'

  it('finds wiring and leads that no profile drives by voltage', () => checkUnused(plate(wired, 'hold 20 °C')))

  it('lets them pass under a supply, and beside a limit that is judged under any drive', async () => {
    await checkUnused(plate('  wiring 2 by 2\n  leads 20 mΩ', 'supply 12 V'))
    await checkUnused(plate('  wiring 2 by 2\n  leads 20 mΩ\n  supply-limit 20 A', 'hold 20 °C'))
  })

  it('finds `constants-at` beside datasheet figures, and not beside constants', async () => {
    const sheet = 'at 27 °C; current 15 A; voltage 15.4 V; difference 68 K; constants-at 20 °C'
    const text = plate('', 'hold 20 °C', sheet)
    const at = text.split('\n').findIndex(line => line.includes('constants-at'))
    const marked = text.split('\n')
    const column = (marked[at] ?? '').indexOf('constants-at')
    marked.splice(at + 1, 0, `${' '.repeat(column)}${'^'.repeat('constants-at 20 °C'.length)} key-unused-here`)
    await checkUnused(marked.join('\n'))
    await checkUnused(
      plate('', 'hold 20 °C', 'seebeck 53 mV/K; resistance 0.80 Ω; conductance 1.4 W/K; constants-at 20 °C'),
    )
  })
})
