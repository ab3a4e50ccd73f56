import { describe, expect, it } from 'vitest'
import { check, checkerOf, fixed } from '../harness/check.ts'
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
