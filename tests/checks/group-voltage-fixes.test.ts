import { describe, expect, it } from 'vitest'
import type { Fix } from '../../server/checks/types.ts'
import { railed, soundSteps, twoGroups } from '../harness/two-groups.ts'
import { findingsOf } from './demo.ts'

/** A bench whose voltages are these. @param more other definitions */
const bench = (voltage: string, more = '', settings = ''): string =>
  twoGroups(`${soundSteps}${settings}\n  voltage {\n${voltage}\n  }`, more)

/** The text with a fix in it: its edits stand in the profile, the last definition. */
function fixed(text: string, fix: Fix): string {
  const base = text.indexOf('profile day')
  return [...fix.edits]
    .sort((a, b) => b.start - a.start)
    .reduce((whole, { start, end, text: piece, chunk }) => {
      expect(text.slice(base, base + 30)).toBe(chunk.text.slice(0, 30))
      return whole.slice(0, base + start) + piece + whole.slice(base + end)
    }, text)
}

/** What the only fix of the first finding writes, and the text with it. */
async function withItsFix(code: string, text: string) {
  const [first] = await findingsOf(code, text)
  const [fix, ...others] = first?.finding.fixes ?? []
  if (fix === undefined) throw new Error(`${code} offers no fix: ${first?.finding.message}`)
  expect(others).toEqual([])
  return { title: fix.title, message: first?.finding.message ?? '', after: fixed(text, fix) }
}

const codes = ['voltage-short', 'voltage-range']
async function left(text: string): Promise<readonly string[]> {
  const found = await Promise.all(codes.map(code => findingsOf(code, text)))
  return found.flat().map(({ finding }) => finding.message)
}

describe('a group that gets less than it needs', () => {
  it('has its own offset raised, so far that it is enough', async () => {
    const text = bench('    core needs + 20 mV\n    core small needs - 30 mV')
    const { title, message, after } = await withItsFix('voltage-short', text)
    expect(title).toMatch(/^Write `core small needs/)
    expect(message).toContain('would do by the model')
    expect(await left(after)).toEqual([])
    expect(after).toContain('    core needs + 20 mV\n')
    // Nothing less does it: behind no load line zero is what it needs.
    expect(after).toContain('    core small needs\n')
  })

  it('gets an offset of its own beside that of all', async () => {
    const text = bench('    core needs - 15 mV\n    set broad 53x 1.330 V\n    set broad 50x 1.250 V')
    const { after } = await withItsFix('voltage-short', text)
    expect(after).toMatch(/core small needs/)
    expect((await left(after)).filter(one => one.startsWith('small'))).toEqual([])
  })

  it('has its own row raised, and its own fixed voltage, behind a load line too', async () => {
    const board = 'board bench-top {\n  core-voltage-step 5 mV\n  load-line 0.2 mΩ\n}\n'
    const row = railed(bench('    core needs + 30 mV\n    set small 40x 1.150 V', board, '\n  board bench-top'))
    const { title, after } = await withItsFix('voltage-short', row)
    expect(title).toMatch(/^Write 1\.2\d\d V$/)
    expect(after).toMatch(/set small 40x 1\.2\d[05] V/)
    expect(await left(after)).toEqual([])
    const flat = railed(bench('    core needs + 30 mV\n    core small fixed 1.150 V'))
    const own = await withItsFix('voltage-short', flat)
    expect(own.title).toBe('Write `core small fixed 1.195 V`')
    expect(await left(own.after)).toEqual([])
  })

  it('gets rows of its own where one for every group is short, and the others keep theirs', async () => {
    const text = railed(bench('    core needs + 20 mV\n    set 30x 0.980 V\n    set 40x 1.150 V'))
    const { title, after } = await withItsFix('voltage-short', text)
    expect(title).toBe('Write `set small 40x 1.195 V`, and the other rows for small')
    expect(after).toContain('    set 30x 0.980 V\n    set 40x 1.150 V\n')
    expect(after).toContain('    set small 30x 0.980 V\n    set small 40x 1.195 V\n')
    expect(await left(after)).toEqual([])
    const one = railed(bench('    core needs + 20 mV\n    set 40x 1.150 V'))
    expect((await withItsFix('voltage-short', one)).title).toBe('Write `set small 40x 1.195 V`')
  })

  it('is tried where its row applies, even if other points are shorter', async () => {
    const text = bench(
      '    core needs - 60 mV\n    set broad 53x 1.300 V',
      'load some { cores broad 1 to 3; cores small 0 to 10; activity 0.9 }\n',
    )
    const found = (await findingsOf('voltage-short', text)).map(({ finding }) => finding)
    expect(found.length).toBeGreaterThan(1)
    const row = found.find(({ message }) => /^broad: Voltage \d+ mV short at 53x/.test(message))
    expect(row?.message).toContain('`set broad 53x 1.310 V` would do by the model')
  })

  it('has no fix where its rail allows no more', async () => {
    const text = bench('    core needs\n    core broad needs - 20 mV').replace('0.70 V to 1.34 V', '0.70 V to 1.30 V')
    const found = await findingsOf('voltage-short', text)
    expect(found[0]?.finding.message).toContain('Set more for this group within')
    expect(found[0]?.finding.fixes ?? []).toEqual([])
  })
})

describe('a voltage that a group on the rail does not allow', () => {
  it('comes down to the least that serves', async () => {
    const { title, message, after } = await withItsFix(
      'voltage-range',
      bench('    core needs\n    core broad needs + 60 mV'),
    )
    expect(message).toContain('is the least that serves')
    expect(title).toBe('Write `core broad needs`')
    expect(await left(after)).toEqual([])
  })

  it('goes up to what the group allows', async () => {
    const text = railed(bench('    core needs\n    core small fixed 0.650 V'))
    const { after } = await withItsFix('voltage-range', text)
    expect(after).toMatch(/core small fixed 1\.195 V/)
    expect(await left(after)).toEqual([])
  })
})
