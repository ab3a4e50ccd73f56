import { describe, expect, it } from 'vitest'
import { narrowTables } from '../../server/features/markdown.ts'

const head = ['load', 'cores', 'profile', 'MHz', 'against', 'watts', 'die °C', 'margin W', 'limiter', 'state']
const rows = [['render', '12', 'light-work', '3827', '', '150.0', '67.8', '109', 'sustained-power', 'alternating']]

describe('a table for a column beside the text', () => {
  it('is one where there is room', () => {
    expect(narrowTables(['figure', 'measured'], [['die', '71.1 °C']]).split('\n\n')).toHaveLength(1)
  })

  it('becomes narrower ones that lose nothing and each say whose row it is', () => {
    const tables = narrowTables(head, rows).split('\n\n')
    expect(tables.length).toBeGreaterThan(1)
    for (const one of tables) {
      expect(one).toMatch(/^\| load +\| cores \| profile /)
      expect(Math.max(...one.split('\n').map(line => line.length))).toBeLessThanOrEqual(80)
    }
    for (const text of [...head, ...(rows[0] ?? [])]) expect(tables.join('\n')).toContain(text)
  })
})
