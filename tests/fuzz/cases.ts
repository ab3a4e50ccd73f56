/** Inputs that once failed, as the fuzz bench gave them, each with the target that it failed in. */

export interface Case {
  readonly name: string
  readonly target: string
  readonly input: unknown
}

export const cases: readonly Case[] = [
  {
    name: 'an empty line beside one with a broken quote',
    target: 'logs',
    input: [`elapsed\n\n${'"'.repeat(20)},0.00\n`, 1],
  },
  {
    name: 'quoted cells before carriage returns, in pieces',
    target: 'logs',
    input: ['"\telapsed\t"\r\n"a;b"\r\n\r\n', 1],
  },
  {
    name: 'a slope of 311 digits',
    target: 'features',
    input: [`detent 1\npart p {\n  needs-slope 1${'0'.repeat(310)} mV/K\n}\n`, []],
  },
]
