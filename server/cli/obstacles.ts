import type { Evaluation } from '../semantic/evaluate.ts'

/** Why a profile has no prediction, in words; undefined where it has, or where it merely has nothing to predict. */
export function obstaclesOf({ profile, input }: Evaluation): string | undefined {
  const reasons: string[] = []
  if (profile.broken === 'unknown') reasons.push('the profile it starts from is not there')
  if (profile.broken === 'cycle') reasons.push('it starts from itself')
  for (const { kind, definition, word, broken } of input.missing) {
    // A load that does not read takes nothing from the others.
    if (kind === 'load' && input.bench !== undefined) continue
    const owner = definition === undefined ? `the ${kind} it names` : `${kind} ${definition.name}`
    if (definition === undefined) reasons.push(`${owner} is not there`)
    else reasons.push(broken ? `${word} of ${owner} does not read` : `${owner} has no ${word}`)
  }
  return reasons.length === 0 ? undefined : `${reasons.join('; ')}.`
}
