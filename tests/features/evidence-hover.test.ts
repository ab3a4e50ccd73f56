import { describe, expect, it } from 'vitest'
import { demo, edited } from '../checks/demo.ts'
import { loadFixture, uriOf } from '../harness/fixture.ts'

/** What trials show where the pointer is: at rows of `needs` and `known`, at the part, at a run and how it ended. */

const code = 'needs-contradicted'
const more = `
run pumped of daily under burn {
  measured { voltage 1.235 V }
  stopped after 2 min "pump stuck"
}
run far of daily under burn {
  measured { voltage 1.360 V }
  stopped after 9 min "hang"
}
`

async function hovers(text: string) {
  const { service } = await loadFixture(text)
  const uri = uriOf('a.detent')
  const source = service.workspace.document(uri)?.source.text ?? ''
  return (at: string): string => service.features.hover(uri, source.indexOf(at) + 1)?.text ?? ''
}

describe('a hover of what was tried', () => {
  it('shows at a row of needs how sure it is, and what was tried there', async () => {
    const hover = await hovers(demo(code))
    expect(hover('50x   1.220 V')).toMatch(
      /Trials: \*\*contradicted\*\*, enough with a probability of \d %\. It takes 1\.25\d V ± 1\d mV; enough with a probability below 10 %/,
    )
    expect(hover('50x   1.220 V')).toContain('stopped after 12 min (“hang”) with 1.235 V at the die (evening)')
    expect(hover('40x   1.010 V')).toContain('Trials: **untested**')
  })

  it('sums up at the part, and says nothing where nothing was tried', async () => {
    const hover = await hovers(demo(code))
    expect(hover('sample-q4 {')).toMatch(/Trials: 1 of 3 rows \w+, 1 \w+, 1 \w+\./)
    const untried = await hovers(edited(demo(code), ['  stopped after 12 min "hang"', '']))
    expect(untried('sample-q4 {')).not.toContain('Trials')
    expect(untried('50x   1.220 V')).not.toContain('Trials')
  })

  it('shows at a point that was seen how sure its ratio is', async () => {
    const known = '  known {\n    4.60 GHz  1.150 V  120 W\n    4.80 GHz  150 W  70 °C\n  }\n'
    const hover = await hovers(demo(code).replace('  needs {', `${known}  needs {`))
    expect(hover('4.60 GHz')).toMatch(
      /Trials: \*\*\w+\*\*, enough with a probability of \d+ %\. It takes 1\.1\d\d V ± \d+ mV/,
    )
    expect(hover('4.60 GHz')).toContain('held 10 min with 1.150 V at the die (known)')
    // Without a voltage it is no trial.
    expect(hover('4.80 GHz')).not.toContain('Trials')
  })

  it('says at a run and at its end what it counts as', async () => {
    const hover = await hovers(demo(code) + more)
    const own = 'A trial at 50x with 1.235 V at the die, where 1.220 V is stated. It contradicts `needs`.'
    expect(hover('evening of')).toContain(own)
    expect(hover('stopped after 12 min')).toContain(own)
    expect(hover('pumped of')).toContain('No trial of the voltage: its words name another cause')
    expect(hover('stopped after 9 min')).toContain('Probably not the voltage, given all that held.')
  })
})
