import { describe, expect, it } from 'vitest'
import { applyEdits } from '../../server/service.ts'
import { loadFixture, uriOf } from '../harness/fixture.ts'
import { bench } from './bench.ts'

/** The quick fix that accepts a finding. */

const uri = uriOf('a.detent')

async function accepted(
  text: string,
  code: string,
): Promise<{ readonly after: string; readonly left: readonly string[] }> {
  const { service, text: textOf } = await loadFixture(text)
  const { features } = service
  const fix = features
    .quickFixes(uri, 0, textOf(uri).length, {})
    .find(({ title }) => title.startsWith(`Allow ${code} `))
  if (fix === undefined) throw new Error(`no acceptance of ${code}`)
  const [edits] = features.fixEdits(uri, fix) ?? []
  const after = applyEdits(textOf(uri), edits?.edits ?? [])
  const again = await loadFixture(after)
  return { after, left: again.service.findings(uri).map(({ finding }) => finding.code) }
}

const profile = (rest: string): string => `${bench}profile q {
  part sample-b7
  cooler big-loop
  room garage
${rest}}
`

describe('an acceptance', () => {
  it('stands in the smallest block around the finding', async () => {
    const { after, left } = await accepted(
      profile('  steps {\n    1 to 4 cores   50x\n    6 to 12 cores  48x\n  }\n'),
      'steps-gap',
    )
    expect(after).toMatch(/ {2}steps \{\n.*\n.*\n {4}allow steps-gap "…"\n {2}\}\n\}\n$/)
    expect(left).not.toContain('steps-gap')
  })

  it('stands behind what shares one line with its block', async () => {
    const { after, left } = await accepted(
      profile('  steps { 1 to 12 cores 50x }\n  limits { die 120 °C }\n'),
      'die-limit-range',
    )
    expect(after).toContain('\n  limits { die 120 °C; allow die-limit-range "…" }\n')
    expect(left).not.toContain('die-limit-range')
  })

  it('stands in the file where no block is around the finding', async () => {
    const { after, left } = await accepted(
      'detent 1\nuse "gone.detent"\n\nroom r { air 20 °C; humidity 50 % }\n',
      'use-missing',
    )
    expect(after).toMatch(/^detent 1\nuse "gone\.detent"\nallow use-missing "…"\n\n/)
    expect(left).not.toContain('use-missing')
  })

  it('keeps line ends as another system writes them', async () => {
    const text = profile('  steps {\n    1 to 4 cores   50x\n    6 to 12 cores  48x\n  }\n').replaceAll('\n', '\r\n')
    const { after } = await accepted(text, 'steps-gap')
    expect(after.replaceAll('\r\n', '')).not.toContain('\n')
    expect(after).toContain('    allow steps-gap "…"\r\n  }\r\n')
  })

  it('is offered last, once for a place, and not for what does not read', async () => {
    const { service, text } = await loadFixture(
      profile(
        '  steps {\n    1 to 4 cores   50x\n    6 to 12 cores  48x\n  }\n  limits { die 80,5 °C }\n  vectr -1x\n',
      ),
    )
    const fixes = service.features.quickFixes(uri, 0, text(uri).length, {})
    const titles = fixes.map(({ title }) => title)
    expect(titles).toContain('Allow steps-gap here, with a reason')
    expect(titles.filter(title => /^Allow (syntax|unknown-word)/.test(title))).toEqual([])
    const first = titles.findIndex(title => title.startsWith('Allow '))
    expect(titles.slice(first).every(title => title.startsWith('Allow '))).toBe(true)
    const places = fixes.map(({ title, finding }) => `${title} ${finding.start}`)
    expect(new Set(places).size).toBe(places.length)
  })
})
