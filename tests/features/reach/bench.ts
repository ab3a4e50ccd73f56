/** An invented bench as text; a test can change each value. And the full check of such a text. */

import { readExpectation } from '../../../server/features/overlay/index.ts'
import { finished, type Reach, reachSlices, type Service } from '../../../server/service.ts'
import { loadFixture, uriOf } from '../../harness/fixture.ts'
import { partText } from '../../harness/make-text.ts'

/** Every value that can be changed, as it stands between its neighbours. */
const usual = {
  step: '44x',
  bands: 'bands return 4 K {\n    1 to 4 cores   above 88 °C   -1x\n  }',
  voltage: 'core needs + 20 mV',
  limits: 'die 92 °C',
  more: '',
  fan: '',
  cooler: 'kind air {\n  radiator { 30 % 0.20 K/W; 100 % 0.12 K/W }\n  block-resistance 0.05 K/W\n}',
  other: '',
  air: '18 °C to 25 °C',
  cores: '4',
  board: 'core-voltage-step 5 mV',
  loads: '',
}

export type BenchValues = Partial<Record<keyof typeof usual, string>>

/** @param expectations lines of the profile, without `expect` */
export function benchWith(values: BenchValues, ...expectations: readonly string[]): string {
  const { step, bands, voltage, limits, more, fan, cooler, other, air, cores, board, loads } = { ...usual, ...values }
  return `detent 1

${partText('p9', { needs: '{ 30x 0.930 V; 40x 1.060 V; 50x 1.240 V }' })}
cooler fins ${cooler}
${other}
room loft {
  air ${air}
  humidity 40 %
}

board plank { ${board} }

load sort { cores ${cores}; activity 0.9 }
load mail { cores 1; activity 0.5 }
${loads}
profile tuned {
  part p9
  cooler fins
  room loft
  board plank
  steps {
    1 to 2 cores   46x
    3 to 4 cores   ${step}
  }
  ${bands}
  voltage { ${voltage} }
  limits { ${limits} }
${[more, fan, ...expectations.map(one => `expect ${one}`)].flatMap(line => (line === '' ? [] : [`  ${line}\n`])).join('')}}
`
}

const uri = uriOf('a.detent')

export async function loadedText(text: string): Promise<Service> {
  return (await loadFixture(text)).service
}

export async function reachOf(text: string, expectation: string, profile = 'tuned'): Promise<Reach> {
  return finished(reachSlices(await loadedText(text), uri, profile, readExpectation(expectation).sourced))
}

export interface Checked {
  /** Texts of the expectations that hold, each with its profile. */
  readonly holding: ReadonlySet<string>
  /** Codes of errors and warnings, each as often as it is found. */
  readonly bad: readonly string[]
}

/** A full check from the text alone. */
export async function checkedText(text: string): Promise<Checked> {
  const service = await loadedText(text)
  for (const evaluation of service.evaluations(uri)) service.expectations(evaluation)
  service.runs.makeAll()
  const holding = service
    .evaluations(uri)
    .flatMap(evaluation =>
      service
        .expectations(evaluation)
        .flatMap(one => (one.holds === true ? [`${evaluation.profile.definition.name}: ${one.text}`] : [])),
    )
  const bad = service
    .findings(uri)
    .flatMap(({ finding }) => (['error', 'warning'].includes(finding.severity) ? [finding.code] : []))
  return { holding: new Set(holding), bad: bad.sort() }
}

/** What is in one list and not in the other, as often as it is there more often. */
export function newIn(then: readonly string[], before: readonly string[]): readonly string[] {
  const left = [...before]
  return then.filter(one => {
    const at = left.indexOf(one)
    if (at >= 0) left.splice(at, 1)
    return at < 0
  })
}
