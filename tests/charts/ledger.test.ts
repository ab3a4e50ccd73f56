import { describe, expect, it } from 'vitest'
import { drawLedger, type LedgerData } from '../../server/charts/ledger.ts'
import { pictureFaults } from './faults.ts'

const held = { ratio: 45, voltageV: 1.08, end: 'held', forS: 3600, text: 'held 1 h', sentence: 'held' } as const
const data: LedgerData = {
  title: 'a part',
  note: 'as invented here',
  trials: [
    held,
    { ...held, voltageV: 1.11, forS: 60, text: 'held 1 min' },
    {
      ...held,
      ratio: 47,
      voltageV: 1.07,
      end: 'stopped',
      forS: 720,
      text: 'stopped after 12 min',
      sentence: 'stopped',
    },
  ],
  stated: [
    { ratio: 40, voltageV: 1, sentence: 'a row' },
    { ratio: 50, voltageV: 1.2, sentence: 'a row' },
  ],
  taken: [{ ratio: 45, voltageV: 1.06, lowV: 1.02, highV: 1.1, sentence: 'taken' }],
  takenText: 'takes',
  takenShort: 'takes',
  given: [{ ratio: 45, voltageV: 1.12, sentence: 'given' }],
  givenText: 'given',
  proposals: [{ ratio: 49, voltageV: 1.15, text: 'try 10 min', sentence: 'to try' }],
  figures: { head: [], rows: [] },
}
const groups = (body: string): readonly string[] => body.match(/<g class="mark"[\s\S]*?<\/g>/g) ?? []

describe('the ledger', () => {
  it.each([760, 520, 420])('has clear labels, %d wide', width => {
    expect(pictureFaults(drawLedger(data, { width, height: 420 }))).toEqual([])
  })

  it('fills what held, crosses what stopped, and draws a longer trial larger', () => {
    const { body } = drawLedger(data, { width: 760, height: 480 })
    const [long = '', short = ''] = groups(body).filter(one => one.includes('<title>held'))
    const [stopped = ''] = groups(body).filter(one => one.includes('<title>stopped'))
    expect(long).toContain('class="point"')
    expect(long).not.toContain('class="stop"')
    expect(stopped).toContain('class="ring"')
    expect(stopped).toContain('class="stop"')
    expect(stopped).not.toContain('class="point"')
    const radius = (text: string) => Number(/ r="([\d.]+)"/.exec(text)?.[1])
    expect(radius(long)).toBeGreaterThan(radius(short))
    expect(radius(short)).toBeGreaterThan(2)
  })

  it('names its axes, and each kind of mark in words', () => {
    const words = drawLedger(data, { width: 760, height: 480 }).labels.map(({ text }) => text)
    expect(words).toEqual(
      expect.arrayContaining(['voltage at the die, V', 'ratio, x', 'stated in needs', 'takes', 'given', 'try 10 min']),
    )
    expect(words).toEqual(expect.arrayContaining(['held 1 h', 'held 1 min', 'stopped after 12 min']))
  })

  it('stands where nothing was tried', () => {
    const bare = { ...data, trials: [], taken: [], proposals: [], given: [] }
    const picture = drawLedger(bare, { width: 760, height: 480 })
    expect(pictureFaults(picture)).toEqual([])
    expect(picture.marks).toHaveLength(2)
  })
})
