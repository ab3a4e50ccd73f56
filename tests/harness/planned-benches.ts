/** Small benches drawn at random whose steps and bands are planned, and the judge of one. */
import type { BenchCase } from '../../server/features/propose/cases.ts'
import { nothingAsked, type ProposeOptions } from '../../server/features/propose/index.ts'
import { createJudges } from '../../server/features/propose/judge.ts'
import { seededUniform } from '../../server/model/random.ts'
import type { Judge } from '../../server/planning/index.ts'
import type { Evaluation } from '../../server/semantic/evaluate.ts'
import { expectationsOf } from '../../server/semantic/expectations.ts'
import { loadFixture } from './fixture.ts'
import { sampled } from './sampled.ts'

/** How many benches a property is tried on; a long run asks for more with `PLANNED_BENCHES`. */
export const benchCount = (usual: number, whole = usual): number => sampled('PLANNED_BENCHES', { usual, whole })

/** A bench of two to four cores and few ratios, on which limits, voltages and temperatures decide by turns. */
export function plannedText(seed: number, profile = ''): string {
  const uniform = seededUniform(seed + 1)
  for (let index = 0; index < 5; index++) uniform()
  const between = (low: number, high: number, decimals = 0): string =>
    (low + (high - low) * uniform()).toFixed(decimals)
  const maybe = (share: number, line: () => string): string => (uniform() < share ? `${line()}\n` : '')
  const cores = 2 + Math.floor(3 * uniform())
  const low = 30 + Math.floor(4 * uniform())
  const high = low + 7 + Math.floor(5 * uniform())
  const lastNeed = high - Math.floor(3 * uniform())
  const lowV = 0.95 + 0.05 * uniform()
  const count = (): number => 1 + Math.floor(cores * uniform())
  const loads = ['weave', 'spin', 'card'].slice(0, 1 + Math.floor(3 * uniform())).map(name => {
    const [a, b] = [count(), count()]
    const counts = a === b || uniform() < 0.5 ? `${a}` : `${Math.min(a, b)} to ${Math.max(a, b)}`
    const vector = uniform() < 0.3 ? '; vector yes' : ''
    const uneven = uniform() < 0.2 ? `; uneven ${between(1.05, 1.4, 2)}` : ''
    return `load ${name} { cores ${counts}; activity ${between(0.5, 1.3, 2)}${vector}${uneven} }`
  })
  const limits = [
    maybe(0.4, () => `    die ${between(60, 80)} °C`),
    maybe(0.3, () => `    current ${Number(between(25, 50)) + 3 * cores} A`),
    maybe(0.3, () => `    burst-power ${Number(between(30, 55)) + 4 * cores} W`),
    maybe(0.3, () => `    sustained-power ${Number(between(26, 50)) + 3 * cores} W over 40 s`),
  ].join('')
  return `detent 1

part drawn {
  cores ${cores}
  reference 100 MHz
  ratio ${low}x to ${high}x
  core-voltage 0.70 V to ${between(1.12, 1.35, 2)} V
  die-limit ${between(72, 96)} °C
  needs { ${low}x ${lowV.toFixed(3)} V; ${lastNeed}x ${(lowV + 0.05 + 0.2 * uniform()).toFixed(3)} V }
${maybe(0.5, () => `  needs-slope ${between(0.1, 0.6, 2)} mV/K`)}  switching ${between(2, 4.5, 2)} nF
  leakage ${between(2, 10, 1)} W at 1.10 V 60 °C
  leakage-doubling ${between(20, 34)} K
  leakage-exponent 3
  shared-power ${between(4, 12)} W
  idle-power 5 W
  package-resistance ${between(0.08, 0.3, 2)} K/W
  core-resistance ${between(0.3, 0.9, 2)} K/W
  die-heat 12 J/K
}

cooler drawn-loop kind loop {
  block-resistance ${between(0.05, 0.2, 2)} K/W
  radiator { 100 % ${between(0.15, 0.6, 2)} K/W }
  plate-heat 150 J/K
  coolant-heat 3000 J/K
${maybe(0.15, () => `  rating ${Number(between(40, 60)) + 15 * cores} W`)}}

room drawn-room {
  air ${between(15, 22)} °C to ${between(24, 36)} °C
  humidity 45 %
}

board drawn-board {
${maybe(0.4, () => `  load-line ${between(0.1, 0.6, 2)} mΩ`)}${maybe(0.4, () => '  core-voltage-step 5 mV')}${maybe(0.2, () => `  supply ${Number(between(110, 150)) + 15 * cores} W`)}}

${loads.join('\n')}

profile planned {
  part drawn
  cooler drawn-loop
  room drawn-room
  board drawn-board
${maybe(0.4, () => '  vector -1x')}  voltage { core needs + ${between(20, 70)} mV }
${limits === '' ? '' : `  limits {\n${limits}  }\n`}${maybe(0.25, () => `  expect weave die <= ${between(50, 70)} °C`)}${maybe(0.25, () => `  expect weave holds >= ${between(low / 10, high / 10, 2)} GHz`)}${profile}}
`
}

export interface Planned {
  readonly evaluation: Evaluation
  readonly service: Awaited<ReturnType<typeof loadFixture>>['service']
  readonly text: string
}

export const plannedUri = 'file:///bench/a.detent'

/** A bench's profile, evaluated. */
export async function plannedBench(text: string): Promise<Planned> {
  const { service } = await loadFixture(text)
  const evaluation = service.evaluations(plannedUri).find(({ profile }) => profile.definition.name === 'planned')
  if (evaluation === undefined) throw new Error('the bench has no profile planned')
  return { evaluation, service, text }
}

/** The judge of a bench that minds its expectations at rest, or none. */
export function judgeOf(
  { evaluation }: Planned,
  options: Partial<ProposeOptions> = {},
  minds: 'expectations' | 'nothing more' = 'nothing more',
): Judge<BenchCase> {
  const bench = evaluation.input.benchForSteps
  if (bench === undefined) throw new Error('the bench lacks more than steps')
  const judges = createJudges({
    evaluation,
    bench,
    options: { ...nothingAsked, ...options },
    evidence: undefined,
    allowed: new Set(),
  })
  return judges(minds === 'expectations' ? expectationsOf(evaluation) : [])
}
