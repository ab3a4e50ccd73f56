import { describe, expect, it } from 'vitest'
import { settledText } from '../../../server/bench/run/wording.ts'

type Asked = Parameters<typeof settledText>[0]

const stretch = (fromS: number, toS: number, clockStartS?: number): string | undefined =>
  settledText({
    record: { load: 'render' },
    settled: { fromS, toS, figures: {} },
    log: { state: 'read', rows: 9, clockStartS },
  } as unknown as Asked)

describe('the stretch under load', () => {
  it('counts from the log’s first row', () => {
    expect(stretch(724, 1200)).toBe('under load from 12 min 4 s to 20 min, the means of its end')
    expect(stretch(0, 3661.4)).toBe('under load from 0 s to 1 h 1 min 1 s, the means of its end')
  })

  it('is given as the log’s clock has it', () => {
    expect(stretch(764, 998, 72_000)).toBe('under load from 20:12:44 to 20:16:38, the means of its end')
    expect(stretch(0, 82_801, 72_000)).toBe('under load from 20:00:00 to 19:00:01 of day 2, the means of its end')
  })
})
