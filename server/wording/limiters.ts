/** What holds a clock where it is, in words. */

import type { Limiter, Settled } from '../model/types.ts'

interface LimiterWords {
  /** In a cell. */
  readonly name: string
  /** In a sentence: `what limits it there is …`. */
  readonly phrase: string
}

const words: Readonly<Record<Limiter, LimiterWords>> = {
  step: { name: 'step', phrase: 'the step itself' },
  vector: { name: 'vector', phrase: 'the step with what `vector` gives back' },
  band: { name: 'band', phrase: 'a temperature band' },
  'sustained-power': { name: 'sustained power', phrase: '`sustained-power`' },
  'burst-power': { name: 'burst power', phrase: '`burst-power`' },
  current: { name: 'current', phrase: 'the limit `current`' },
  'die-limit': { name: 'die limit', phrase: 'the die limit' },
  none: { name: '', phrase: 'nothing' },
}

/** A limiter in a cell; empty for loads without a clock. */
export function limiterName(limiter: Limiter): string {
  return words[limiter].name
}

/** A limiter in a sentence. */
export function limiterPhrase(limiter: Limiter): string {
  return words[limiter].phrase
}

/** What holds the clock, with what its state adds. */
export function limiterText({ state, limiter }: Pick<Settled, 'state' | 'limiter'>): string {
  const name = limiterName(limiter)
  switch (state) {
    case 'alternating':
      return `${name}, alternating`
    case 'over-limit':
      return 'over the die limit'
    case 'runaway':
      return 'thermal runaway'
    default:
      return name
  }
}
