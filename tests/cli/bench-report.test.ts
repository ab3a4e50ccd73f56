import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { temporaryFolder } from '../harness/process.ts'
import { benchText, detent } from './helpers.ts'

const second = `
profile slow based-on daily { steps { 1 to 4 cores 40x } }

run evening of daily under work {
  measured { power 60 W; die 40 °C }
  score 100 "points" higher
  score 102 "points" higher
  score 101 "points" higher
}

run morning of slow under work {
  score 90 "points" higher
  score 91 "points" higher
  score 89 "points" higher
}
`

describe('report', () => {
  it('is one page that asks for nothing from outside', async () => {
    using folder = temporaryFolder({ 'a.detent': benchText('  expect work die <= 90 °C') + second })
    const { code, err } = await detent(folder.path, ['report', '--baseline', 'daily', '--to', 'page.html'])
    expect(code).toBe(0)
    expect(err).toBe('page.html written\n')
    const page = readFileSync(join(folder.path, 'page.html'), 'utf8')
    expect(page).toMatch(/^<!doctype html>/)
    expect(page.replaceAll(' xmlns="http://www.w3.org/2000/svg"', '')).not.toMatch(
      /(?:src|href)=|https?:|url\((?!#)|@import/,
    )
    expect(page).toContain("default-src 'none'")
    // A map and a cooling chart for each profile, the maps first; names within them differ.
    const pictures = [...page.matchAll(/<svg class="detent-chart"[^>]*aria-label="([^"]*)"/g)].map(([, label]) => label)
    expect(pictures.slice(0, 2)).toEqual([
      'daily: operating map for full activity',
      'slow: operating map for full activity',
    ])
    expect(pictures.filter(label => label?.includes('tower under work'))).toHaveLength(2)
    // Then the clocks in one plot, and the scores as gains against the baseline.
    expect(pictures.slice(2, 4)).toEqual(['Clock by active cores', 'Scores against daily'])
    expect(page.indexOf('<svg')).toBeLessThan(page.indexOf('<table>'))
    const ids = [...page.matchAll(/ id="([^"]+)"/g)].map(([, id]) => id)
    expect(ids).toEqual([...new Set(ids)])
    // A course that is flat is one line of text.
    expect(page.replaceAll('\u00a0', ' ')).toMatch(
      /work on 4 cores at 20 °C air and 40 % humidity, from an idle bench: \d+ MHz throughout/,
    )
  })

  it('has settings, predictions, expectations, runs, comparison, cautions and how it was obtained', async () => {
    using folder = temporaryFolder({ 'a.detent': benchText('  expect work die <= 90 °C') + second })
    const { out, code } = await detent(folder.path, ['report', '--baseline', 'daily', '--output', 'markdown'])
    expect(code).toBe(0)
    for (const head of [
      '## Profile daily',
      '### Settings',
      '### Expectations',
      '## Runs',
      '### Least margin of each profile',
      '## Beside the baseline',
      '## Constants of the bench',
      '## How the figures',
    ]) {
      expect(out).toContain(head)
    }
    expect(out.match(/> \*\*Caution:\*\*/g)).toHaveLength(1)
    expect(out).toMatch(/\| power +\| 60\.0 W +\| [\d.]+ W +\|/)
    // The scores of 90 against 101 are more than noise.
    expect(out).toMatch(/slow against daily: .*worse|slow .*worse/)
    const { out: json } = await detent(folder.path, ['predict', '--output', 'json'])
    const row = (JSON.parse(json) as { predictions: { profile: string; load: string; die_c: number }[] }).predictions
    const die = row.find(({ profile, load }) => profile === 'daily' && load === 'work')?.die_c ?? Number.NaN
    expect(out).toMatch(new RegExp(` ${die.toFixed(1)} +\\|`))
  })

  it('begins with what each profile comes to, as it is predicted', async () => {
    using folder = temporaryFolder({
      'a.detent': benchText('  expect work die <= 90 °C\n  expect work die <= 9 °C') + second,
    })
    const { out } = await detent(folder.path, ['report', '--output', 'markdown'])
    const front = out.slice(out.indexOf('## At a glance'), out.indexOf('## Profile'))
    expect(front).toMatch(/\| daily +\| a\.detent +\| 1 of 2 hold +\| 1 +\| 0 +\|/)
    const { out: json } = await detent(folder.path, ['predict', '--output', 'json'])
    const { predictions } = JSON.parse(json) as {
      predictions: { profile: string; load: string; clock_mhz: number; die_c: number; margin_w: number }[]
    }
    for (const profile of ['daily', 'slow']) {
      const rows = predictions.filter(row => row.profile === profile && row.load === 'work')
      expect(rows.length).toBeGreaterThan(0)
      const clock = Math.min(...rows.map(row => row.clock_mhz)).toFixed(0)
      const die = Math.max(...rows.map(row => row.die_c)).toFixed(1)
      const margin = Math.min(...rows.map(row => row.margin_w)).toFixed(0)
      const row = `\\| ${profile} +\\| work +\\|`
      expect(front).toMatch(new RegExp(`${row}.*\\| ${clock} +\\|.*\\| ${die} +\\|`))
      expect(front).toMatch(new RegExp(`${row}.*\\| ${margin} +\\|`))
    }
  })

  it('says which loads it does not follow over time', async () => {
    const names = ['one', 'two', 'three', 'four', 'five']
    const loads = names.map(name => `load ${name} { cores 1 }`).join('\n')
    using folder = temporaryFolder({ 'a.detent': `${benchText()}\n${loads}\n` })
    const { out } = await detent(folder.path, ['report', '--output', 'markdown'])
    const followed = [...out.matchAll(/^- (\S+) on \d+ cores? .*throughout/gm)].map(([, load]) => load)
    const [, told = ''] = /Not charted here, to keep the page short: ([^.]+)\./.exec(out) ?? []
    expect(followed).toHaveLength(4)
    expect([...followed, ...told.split(', ')].sort()).toEqual(['work', ...names].sort())
  })

  it('escapes what people wrote', async () => {
    const text = benchText('  also { "<b>memory</b>" "</script><script>alert(1)</script>" }')
    using folder = temporaryFolder({ 'a.detent': text })
    const { out } = await detent(folder.path, ['report'])
    expect(out).not.toContain('<b>memory</b>')
    expect(out).not.toContain('alert(1)</script>')
    expect(out.replace(/<script[\s\S]*?<\/script>/g, '')).not.toMatch(/`[a-z-]+`/)
  })

  it('is not written of nothing', async () => {
    using folder = temporaryFolder({ 'a.detent': 'detent 1\n' })
    const { code, out, err } = await detent(folder.path, ['report'])
    expect({ code, out }).toEqual({ code: 2, out: '' })
    expect(err).toContain('There is no profile here to report on.')
  })

  it.each([[['--baseline', 'nobody']], [['--profile', 'nobody']], [['--to', 'nowhere/page.html']]])(
    'refuses %j in one line',
    async args => {
      using folder = temporaryFolder({ 'a.detent': benchText() })
      const { code, err } = await detent(folder.path, ['report', ...args])
      expect(code).toBe(2)
      expect(err.trim().split('\n')).toHaveLength(1)
    },
  )
})
