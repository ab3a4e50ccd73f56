import { describe, expect, it } from 'vitest'
import { check, checkerOf, fixed } from '../harness/check.ts'
import { onBench } from '../harness/sound-bench.ts'

const checkAllow = checkerOf('allow-unused')
const steps = '  steps { 1 to 4 cores 46x }'

describe('allow-unused', () => {
  it('finds an `allow` under which nothing is found', () =>
    check(onBench(`${steps}\n  allow steps-gap "so"\n  ^^^^^^^^^^^^^^^^^^^^ allow-unused`)))

  it('lets one pass that accepts a finding', () =>
    check(onBench('  steps { 1 to 3 cores 46x }\n  allow steps-gap "so"')))

  it('removes it', async () => {
    expect(await fixed('allow-unused', onBench(`${steps}\n  allow steps-gap "so"`))).toBe(await fixedText(steps))
  })

  it('removes it from a line that it shares', async () => {
    const text = await fixed('allow-unused', onBench('  steps { 1 to 4 cores 46x; allow steps-gap "so" }'))
    expect(text).toContain('  steps { 1 to 4 cores 46x }\n')
  })

  it('leaves unknown codes to their own finding', () =>
    check(onBench(`${steps}\n  allow steps-gaap "so"\n        ^^^^^^^^^^ unknown-word`)))

  it('is silent while a profile of the file cannot be predicted', () =>
    check(onBench(`  steps { 1 to 4 cores 46 }\n                       ^^ unit-missing\n  allow steps-gap "so"`)))

  it('counts a finding in a profile that starts from the one it stands in', () =>
    check(
      onBench(`${steps}\n  allow ratio-grid "so"`, 'profile night based-on daily {\n  steps { 1 to 4 cores 45.5x }\n}'),
    ))

  it('is silent in a profile that another file may start from', () =>
    checkAllow(`--- top.detent
detent 1
use "a.detent"
${onBench(`${steps}\n  allow steps-gap "so"`)}`))

  it('can itself be accepted', () =>
    check(onBench(`${steps}\n  allow steps-gap "so"\n  allow allow-unused "kept for the other board"`)))

  it('does not take a check that is off for an `allow` without use', () =>
    check(
      onBench(
        `${steps}
  bands { 1 to 4 cores above 80 °C -2x }
  allow band-unreachable "a net"`,
      ),
    ))
})

/** The fixture's own file as it stands. */
async function fixedText(lines: string): Promise<string> {
  return onBench(lines).split('--- bench.detent')[0]?.replace('--- a.detent\n', '') ?? ''
}
