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

  it('names it where it does not hold with the steps proposed, and exits with 1', async () => {
    const { code, out } = await proposed('36 °C')
    expect(code).toBe(1)
    expect(out.replace(/\s+/g, ' ')).toContain('course stint die <= 36 °C')
    expect(out.replace(/\s+/g, ' ')).toContain('the search does not plan for courses')
  })

  it('says nothing of it where it holds', async () => {
    const { code, out } = await proposed('60 °C')
    expect([code, out.includes('course')]).toEqual([0, false])
  })
})
