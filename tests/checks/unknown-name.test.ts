import { describe, expect, it } from 'vitest'
import { check, checkerOf, fixed } from '../harness/check.ts'
import { onBench, soundBench } from '../harness/sound-bench.ts'

const checkNames = checkerOf('unknown-name')

describe('unknown-name', () => {
  it('finds a misspelt room, and nothing missing as well', async () => {
    const [finding] = await check(`--- a.detent
detent 1
use "bench.detent"
profile daily {
  part willow-4
  cooler pond-loop
  room lofft
       ^^^^^ unknown-name
  steps { 1 to 4 cores 46x }
}
${soundBench}`)
    expect(finding?.message).toContain('Did you mean `loft`?')
  })

  it('lets known names and built-in loads pass', () =>
    check(onBench('  steps { 1 to 4 cores 46x }\n  expect weave die <= 80 °C\n  expect idle power <= 20 W')))

  it('fixes it', async () => {
    const text = await fixed('unknown-name', onBench('  steps { 1 to 4 cores 46x }\n  expect weav die <= 80 °C'))
    expect(text).toContain('expect weave die <= 80 °C')
  })

  it('tells a name of another kind', async () => {
    const [finding] = await checkNames(`--- a.detent
detent 1
use "bench.detent"
profile daily {
  part pond-loop
       ^^^^^^^^^ unknown-name
  cooler pond-loop
  room loft
  steps { 1 to 4 cores 46x }
}
${soundBench}`)
    expect(finding?.message).toMatch(/^`pond-loop` is a cooler; this takes a part\./)
  })

  it('says that there is none of the kind yet', async () => {
    const [finding] = await checkNames(`detent 1
profile daily {
  part willow
       ^^^^^^ unknown-name
}
`)
    expect(finding?.message).toContain('There is no part yet')
  })

  it('finds an unknown profile behind `based-on`', () =>
    checkNames(`detent 1
profile night based-on dayly { vector -1x }
                       ^^^^^ unknown-name
`))

  it('is silent while a used file is missing, through other files too', async () => {
    await check(`--- a.detent
detent 1
use "b.detent"
profile daily { part willow; cooler pond; room loft; steps { 1 core 40x } }
--- b.detent
detent 1
use "gone.detent"
    ^^^^^^^^^^^^^ use-missing
`)
  })

  it('tells of a menu row whose setting no profile on the board carries', async () => {
    const text = `--- a.detent
detent 1
use "bench.detent"
board wide {
  menu {
    "memory clock" "Page" "Field"
    "memory clok" "Page" "Field"
    ^^^^^^^^^^^^^ unknown-name
  }
}
profile daily {
  part willow-4
  cooler pond-loop
  room loft
  board wide
  steps { 1 to 4 cores 46x }
  also { "memory clock" "3200 MT/s" }
}
${soundBench}`
    const [finding] = await checkNames(text)
    expect(finding?.severity).toBe('information')
    expect(finding?.fixes?.map(({ edits }) => edits[0]?.text)).toEqual(['"memory clock"'])
    // Profiles of another file may carry it, and a board that no profile names is for others.
    expect(await checkNames(text.replace(/ *\^+ unknown-name\n/, '').replace('  board wide\n', ''))).toEqual([])
  })

  it('is silent about a name on a line whose first word does not read', () =>
    check(`detent 1
romm loft { air 22 °C; humidity 50 % }
^^^^ unknown-word
profile daily {
        ^^^^^ missing-key
  room loft
}
`))
})
