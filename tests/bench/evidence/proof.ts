/** How many hours at the bench the proposed trials save, on samples drawn from the prior. Nothing is asserted here. */
import {
  type Chooser,
  type Evening,
  evening,
  halving,
  lowering,
  median,
  proposing,
  rows,
  samplesOf,
} from './evenings.ts'

const ways: readonly (readonly [name: string, choose: Chooser])[] = [
  ['proposed', proposing(1)],
  ['proposed, risk 30 %', proposing(0.3)],
  ['lowering by 10 mV', lowering],
  ['halving, again ± 60 mV', halving(0.06)],
  ['halving, again ± 15 mV', halving(0.015)],
]

const say = (line: string): void => {
  process.stdout.write(`${line}\n`)
}

/** @param count samples */
export function proveNext(count: number): void {
  const samples = samplesOf(count, 2026)
  say(`${count} samples; hours until every row of ${rows.length} is known to 8 mV`)
  for (const [name, choose] of ways) {
    const evenings: Evening[] = samples.map((sample, index) => evening(sample, choose, 1000 + index))
    const hours = evenings.map(one => one.hours).toSorted((a, b) => a - b)
    const at = (share: number): string => hours[Math.round(share * (hours.length - 1))]!.toFixed(1)
    const covered = evenings.reduce((sum, one) => sum + one.covered, 0) / (rows.length * count)
    const unfinished = evenings.filter(one => !one.done).length
    const figures = [
      `median ${median(hours).toFixed(1)} h (10 % ${at(0.1)}, 90 % ${at(0.9)})`,
      `${median(evenings.map(one => one.trials))} trials, ${median(evenings.map(one => one.stops))} stops`,
      `intervals cover ${covered.toFixed(3)}`,
      ...(unfinished === 0 ? [] : [`${unfinished} not finished`]),
    ]
    say(`${name.padEnd(24)} ${figures.join('; ')}`)
  }
}
