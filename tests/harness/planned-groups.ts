/** Small benches with two groups of cores drawn at random whose steps and bands are planned, and the judge of one. */
import type { BenchCase } from '../../server/features/propose/cases.ts'
import { createGroupsJudges } from '../../server/features/propose/group-judge.ts'
import { nothingAsked, type ProposeOptions } from '../../server/features/propose/index.ts'
import { seededUniform } from '../../server/model/random.ts'
import type { GroupsJudge } from '../../server/planning/index.ts'
import type { Planned } from './planned-benches.ts'

/**
 * Two groups of two or three cores with few ratios, on which limits, voltages and temperatures decide by turns.
 * @param size `smallest`: two cores each and four or five ratios, for what tries everything
 */
export function plannedGroupsText(seed: number, size: 'small' | 'smallest' = 'small'): string {
  const uniform = seededUniform(seed + 1001)
  for (let index = 0; index < 5; index++) uniform()
  const between = (low: number, high: number, decimals = 0): string =>
    (low + (high - low) * uniform()).toFixed(decimals)
  const maybe = (share: number, line: () => string): string => (uniform() < share ? `${line()}\n` : '')
  const most = size === 'smallest' ? 1 : 2
  const [broad, small] = [2 + Math.floor(most * uniform()), 2 + Math.floor(most * uniform())]
  const group = (name: string, cores: number, lowX: number, switching: string): string => {
    const highX = lowX + (size === 'smallest' ? 3 + Math.floor(2 * uniform()) : 6 + Math.floor(3 * uniform()))
    const lowV = 0.95 + 0.05 * uniform()
    const lastX = highX - Math.floor(2 * uniform())
    return `  group ${name} {
    cores ${cores}
    ratio ${lowX}x to ${highX}x
    needs { ${lowX}x ${lowV.toFixed(3)} V; ${lastX}x ${(lowV + 0.05 + 0.2 * uniform()).toFixed(3)} V }
    switching ${switching} nF
    core-resistance ${between(0.3, 0.9, 2)} K/W
  }`
  }
  const groups = [group('broad', broad, 34, between(2.5, 4.5, 2)), group('small', small, 26, between(1, 2.5, 2))].join(
    '\n',
  )
  const cores = broad + small
  const count = (most: number): number => 1 + Math.floor(most * uniform())
  const loads = [
    `load weave { cores broad ${broad}; cores small ${small}; activity ${between(0.7, 1.2, 2)} }`,
    `load spin { cores broad ${count(broad)}; cores small ${count(small)}; activity ${between(0.5, 1.2, 2)}${uniform() < 0.3 ? '; vector yes' : ''} }`,
    `load card { cores ${uniform() < 0.5 ? 'broad' : 'small'} ${count(2)}; activity ${between(0.6, 1.3, 2)} }`,
  ]
  const limits = [
    maybe(0.4, () => `    die ${between(58, 80)} °C`),
    maybe(0.3, () => `    burst-power ${Number(between(30, 55)) + 6 * cores} W`),
    maybe(0.5, () => `    sustained-power ${Number(between(26, 50)) + 5 * cores} W over 40 s`),
  ].join('')
  return `detent 1

part drawn {
${groups}
  reference 100 MHz
  core-voltage 0.70 V to ${between(1.15, 1.35, 2)} V
  die-limit ${between(74, 96)} °C
  leakage ${between(2, 10, 1)} W at 1.10 V 60 °C
  leakage-doubling ${between(20, 34)} K
  leakage-exponent 3
  shared-power ${between(4, 12)} W
  idle-power 5 W
  package-resistance ${between(0.08, 0.3, 2)} K/W
  die-heat 12 J/K
}

cooler drawn-loop kind loop {
  block-resistance ${between(0.05, 0.2, 2)} K/W
  radiator { 100 % ${between(0.1, 0.4, 2)} K/W }
  plate-heat 150 J/K
  coolant-heat 3000 J/K
}

room drawn-room {
  air ${between(15, 22)} °C to ${between(24, 36)} °C
  humidity 45 %
}

board drawn-board {
${maybe(0.4, () => `  load-line ${between(0.1, 0.6, 2)} mΩ`)}${maybe(0.4, () => '  core-voltage-step 5 mV')}}

${loads.join('\n')}

profile planned {
  part drawn
  cooler drawn-loop
  room drawn-room
  board drawn-board
${maybe(0.4, () => '  vector -1x')}  voltage { core needs + ${between(20, 70)} mV }
${limits === '' ? '' : `  limits {\n${limits}  }\n`}${maybe(0.25, () => `  expect weave die <= ${between(50, 70)} °C`)}}
`
}

/** The judge of a bench with groups that minds no expectations. */
export function groupsJudgeOf({ evaluation }: Planned, options: Partial<ProposeOptions> = {}): GroupsJudge<BenchCase> {
  const bench = evaluation.input.benchForSteps
  if (bench === undefined) throw new Error('the bench lacks more than steps')
  const judges = createGroupsJudges({
    evaluation,
    bench,
    options: { ...nothingAsked, ...options },
    evidence: undefined,
    allowed: new Set(),
  })
  return judges([])
}
