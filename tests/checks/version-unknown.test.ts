import { describe, expect, it } from 'vitest'
import { check, fixed } from '../harness/check.ts'

describe('version-unknown', () => {
  it('finds another version', () => check('detent 7\n       ^ version-unknown\n'))

  it('lets the known one pass', () => check('detent 1\n'))

  it('writes the known one', async () => {
    expect(await fixed('version-unknown', 'detent 7\n')).toBe('detent 1\n')
  })
})
