/** Trials as the tests of evidence write them: at a ratio and voltage, for so many minutes. */
import type { VoltageTrial } from '../../../server/bench/evidence/hazard.ts'

export const held = (ratio: number, comparableV: number, minutes = 60): VoltageTrial => ({
  ratio,
  comparableV,
  end: { kind: 'held', forS: 60 * minutes },
})

export const stopped = (ratio: number, comparableV: number, minutes: number): VoltageTrial => ({
  ratio,
  comparableV,
  end: { kind: 'stopped', afterS: 60 * minutes },
})
