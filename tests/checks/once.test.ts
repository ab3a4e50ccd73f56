import { describe, expect, it } from 'vitest'
import { bandsChecks } from '../../server/checks/bands/index.ts'
import { languageChecks } from '../../server/checks/language/index.ts'
import { stepsChecks } from '../../server/checks/steps/index.ts'
import { foundIn, positionAt } from '../harness/check.ts'
import { loadFixture } from '../harness/fixture.ts'
import { soundBench } from '../harness/sound-bench.ts'

/** A whole file without a finding of the language: every line of it is then spoilt, one at a time. */
const text = `${soundBench.replace('--- bench.detent\n', '').replace('reference 100 MHz', 'reference 100 MHz\n  ratio-step 0.5x')}
cooler slab kind thermoelectric {
  modules 2
  module {
    at 27 °C
    current 14 A
    voltage 15.1 V
    heat 131 W
    difference 67 K
  }
  drive-current 6.5 A
  block-resistance 0.03 K/W
  radiator {
    25 %  0.085 K/W
    100 % 0.041 K/W
  }
}

board plank {
  core-voltage-step 5 mV
  load-line 0.3 mΩ
  supply 800 W
}

profile daily {
  part willow-4
  cooler pond-loop
  room loft
  board plank
  steps {
    1 to 2 cores   47x
    3 to 4 cores   45.5x
  }
  bands return 0.1 K {
    1 to 4 cores   above 80 °C  -1x
  }
  vector -1x
  voltage {
    core needs + 40 mV
    set 46x 1.210 V
  }
  limits {
    die 90 °C
    sustained-power 150 W over 30 s
  }
  expect weave die <= 80 °C
}

profile cold based-on daily {
  cooler slab
  drive dew + 3 K
}
`

/** Findings that rest on figures may well change with a setting that no longer counts. */
const resting = new Set(['band-alternating', 'band-unreachable', 'return-latches'])
const codes = new Set(
  [...languageChecks, ...stepsChecks, ...bandsChecks].map(({ code }) => code).filter(code => !resting.has(code)),
)

interface Judged {
  readonly found: readonly string[]
  readonly isPredicted: boolean
  readonly isTold: boolean
}

async function judge(spoilt: string): Promise<Judged> {
  const loaded = await loadFixture(spoilt)
  const all = foundIn(loaded)
  const evaluations = loaded.service.evaluations('file:///bench/a.detent')
  return {
    found: all
      .filter(({ finding }) => codes.has(finding.code))
      .map(({ start, finding }) => `${positionAt(spoilt, start).line} ${finding.code}`),
    isPredicted: evaluations.length === 2 && evaluations.every(({ input }) => input.bench !== undefined),
    isTold: all.some(({ finding }) => finding.severity === 'error' || finding.code === 'missing-key'),
  }
}

const lines = text.split('\n')
const slips: readonly { readonly slip: string; readonly of: (line: string) => string | undefined }[] = [
  { slip: 'a misspelt word', of: line => /^(\s*)([a-z])([a-z-]{2,}.*)$/.exec(line)?.slice(1).join('§') },
  { slip: 'a lost unit', of: line => lostUnit(line) },
  { slip: 'a unit of another kind', of: line => lostUnit(line, ' V/K') },
  { slip: 'a decimal comma', of: line => (/\d\.\d/.test(line) ? line.replace(/(\d)\.(\d)/, '$1,$2') : undefined) },
  { slip: 'something left over', of: line => (/[\w%°Ω]$/.test(line) ? `${line} 5` : undefined) },
  {
    slip: 'a lost last word',
    of: line =>
      / \S+$/.test(line) && !line.endsWith('{') && !line.endsWith('}') ? line.replace(/ +\S+$/, '') : undefined,
  },
]

function lostUnit(line: string, instead = ''): string | undefined {
  const parts = /^(.*?\d) ?(°C|K\/W|mV|mΩ|MHz|nF|V|W|K|A|%|x|s)(?![A-Za-z/].*)(.*)$/.exec(line)
  return parts === null ? undefined : `${parts[1]}${instead}${parts[3]}`
}

describe('one slip', () => {
  it('is made in a file that has no finding', async () => {
    const { found, isPredicted, isTold } = await judge(text)
    expect(found).toEqual([])
    expect(isPredicted).toBe(true)
    expect(isTold).toBe(false)
  })

  for (const { slip, of } of slips) {
    it(`has one finding of the language, on its line: ${slip}`, async () => {
      let tried = 0
      for (const [index, line] of lines.entries()) {
        const changed = of(line)?.replace('§', '').replace('§', 'q')
        if (changed === undefined || changed === line) continue
        tried++
        const spoilt = lines.with(index, changed).join('\n')
        const { found, isPredicted, isTold } = await judge(spoilt)
        expect(
          found.map(one => one.split(' ')[0]),
          `${changed}\n${found.join('\n')}`,
        ).toEqual([`${index + 1}`])
        // Whatever cannot be predicted has a reason that a person reads.
        expect(isPredicted || isTold).toBe(true)
      }
      expect(tried).toBeGreaterThan(15)
    })
  }

  it('leaves nothing unpredicted without a word: any line taken out', async () => {
    for (const [index, line] of lines.entries()) {
      if (line.endsWith('{') || line.trim() === '}' || line === '') continue
      const { isPredicted, isTold } = await judge(lines.toSpliced(index, 1).join('\n'))
      expect(isPredicted || isTold, line).toBe(true)
    }
  })
})
