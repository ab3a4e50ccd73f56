import { describe, expect, it } from 'vitest'
import { temporaryFolder } from '../harness/process.ts'
import { benchText, detent } from './helpers.ts'

describe('propose beside an expectation of a course', () => {
  const course = '\ncourse stint { idle 20 s; work 60 s }\n'
  const proposed = async (limit: string) => {
    using folder = temporaryFolder({
      'a.detent': benchText(`  expect course stint die <= ${limit}\n`) + course,
    })
    return await detent(folder.path, ['propose', 'daily'])
  }

  it('keeps it with a margin, and says what the margin is for', async () => {
    const free = await proposed('60 °C')
    expect([free.code, free.out.includes('course')]).toEqual([0, false])
    const { code, out } = await proposed('37 °C')
    expect(code).toBe(0)
    expect(out.replace(/\s+/g, ' ')).toMatch(
      /would settle (with the die )?at .*`expect course stint die <= 37 °C` holds only where/,
    )
    expect(out.split('\n').slice(1)).not.toEqual(free.out.split('\n').slice(1))
  })

  it('names it where no step is low enough, and exits with 1', async () => {
    const { code, out } = await proposed('21 °C')
    expect(code).toBe(1)
    expect(out.replace(/\s+/g, ' ')).toContain(
      'Not met, and left out: `expect course stint die <= 21 °C`; none of the steps and bands tried keeps it.',
    )
  })

  it('says what keeping it would cost, and where', async () => {
    const text = benchText('  expect course stint die <= 24 °C\n  expect work holds >= 4.5 GHz\n').replace(
      'cores 4; a',
      'cores 1; a',
    )
    using folder = temporaryFolder({ 'a.detent': text + course })
    const { code, out } = await detent(folder.path, ['propose', 'daily'])
    expect(code).toBe(1)
    expect(out.replace(/\s+/g, ' ')).toMatch(
      /Not met, and left out: `expect course stint die <= 24 °C`; to keep it, one step would .* \(work, 1 core, 20 °C air\)\./,
    )
  })
})
