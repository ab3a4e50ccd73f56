import { describe, expect, it } from 'vitest'
import { check, checkerOf, fixed } from '../harness/check.ts'
import { loadFixture } from '../harness/fixture.ts'
import { onBench } from '../harness/sound-bench.ts'

const checkNames = checkerOf('duplicate-name')

describe('duplicate-name', () => {
  it('finds the second of two', async () => {
    const [finding] = await check(`detent 1
room loft { air 22 °C; humidity 50 % }
room loft { air 26 °C; humidity 40 % }
     ^^^^ duplicate-name
`)
    expect(finding?.related).toHaveLength(1)
  })

  it('lets one name stand for two kinds', () =>
    check(`detent 1
room loft { air 22 °C; humidity 50 % }
load loft { cores 4 }
`))

  it('renames the one that does not count, to a free name', async () => {
    const text = await fixed(
      'duplicate-name',
      'detent 1\nroom loft { air 22 °C; humidity 50 % }\nroom loft-2 { air 2 °C; humidity 5 % }\nroom loft { air 9 °C; humidity 9 % }\n',
    )
    expect(text).toContain('room loft-3 { air 9 °C')
  })

  it.each(['idle', 'off'])('finds a load called %s', async name => {
    const marks = '^'.repeat(name.length)
    const [finding] = await check(`detent 1
load ${name} { cores 4 }
     ${marks} duplicate-name
`)
    expect(finding?.message).toContain('is built in')
    expect(await fixed('duplicate-name', `detent 1\nload ${name} { cores 4 }\n`)).toContain(`load ${name}-2 {`)
  })

  it('predicts the built-in load, not the one of its name', async () => {
    const loaded = await loadFixture(onBench('  steps { 1 to 4 cores 46x }', 'load idle { cores 4 }'))
    const predictions = loaded.service.evaluations('file:///bench/a.detent')[0]?.predictions ?? []
    expect(predictions.filter(({ load }) => load.name === 'idle').map(({ load }) => load.load.kind)).toEqual(['idle'])
  })

  it('lets a room be called idle', () => check('detent 1\nroom idle { air 22 °C; humidity 50 % }\n'))

  it('finds a name that a used file has too, in the file that uses it', () =>
    check(`--- a.detent
detent 1
use "b.detent"
room loft { air 22 °C; humidity 50 % }
     ^^^^ duplicate-name
--- b.detent
detent 1
room loft { air 26 °C; humidity 50 % }
`))

  it('finds a clash between two used files, once, where both come together', () =>
    check(`--- top.detent
detent 1
use "a.detent"
--- a.detent
detent 1
use "b.detent"
use "c.detent"
    ^^^^^^^^^^ duplicate-name
--- b.detent
detent 1
room loft { air 26 °C; humidity 50 % }
--- c.detent
detent 1
room loft { air 22 °C; humidity 50 % }
`))

  it('does not take one file, reached on two ways, for two', () =>
    checkNames(`--- a.detent
detent 1
use "b.detent"
use "c.detent"
--- b.detent
detent 1
use "c.detent"
--- c.detent
detent 1
room loft { air 22 °C; humidity 50 % }
`))
})
