import { describe, expect, it } from 'vitest'
import { check, fixed } from '../harness/check.ts'

describe('version-not-first', () => {
  it('finds a version below another line', () =>
    check(`room loft { air 22 °C; humidity 50 % }
detent 1
^^^^^^^^ version-not-first
`))

  it('lets comments stand above it', () => check('# my bench\n\ndetent 1\nroom loft { air 22 °C; humidity 50 % }\n'))

  it('moves it to the top', async () => {
    const text = await fixed('version-not-first', '# mine\nroom loft { air 22 °C; humidity 50 % }\n\ndetent 1\n')
    expect(text).toBe('# mine\ndetent 1\nroom loft { air 22 °C; humidity 50 % }\n\n')
  })
})
