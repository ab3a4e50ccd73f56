/** Runs the command in this process, with streams that are read afterwards. */

import type { Io } from '../../server/cli/io.ts'
import { run } from '../../server/cli/run.ts'
import { partText } from '../harness/make-text.ts'

export interface Call {
  readonly code: number
  readonly out: string
  readonly err: string
}

export interface Surroundings {
  readonly input?: Uint8Array | string
  readonly env?: Readonly<Record<string, string>>
  /** A person reads along. */
  readonly terminal?: boolean
  /** How wide the terminal is. */
  readonly columns?: number
}

/** Calls `detent` in a folder. */
export async function detent(folder: string, args: readonly string[], around: Surroundings = {}): Promise<Call> {
  const written = { out: '', err: '' }
  const output = (name: 'out' | 'err'): Io['out'] => ({
    write: text => {
      written[name] += text
    },
    isTerminal: around.terminal === true,
    columns: around.columns,
  })
  const io: Io = {
    folder,
    env: around.env ?? {},
    out: output('out'),
    err: output('err'),
    readInput: async () => {
      const { input = '' } = around
      return typeof input === 'string' ? new TextEncoder().encode(input) : input
    },
  }
  return { code: await run(args, io), ...written }
}

const sample = partText('sample', {
  ratio: '8x to 60x',
  'core-voltage': '0.65 V to 1.50 V',
  'die-limit': '100 °C',
  needs: '{ 40x 1.000 V; 50x 1.200 V }',
  switching: '2 nF',
  leakage: '8 W at 1.20 V 60 °C',
  'shared-power': '10 W',
  'idle-power': '8 W',
  'core-resistance': '0.50 K/W',
})

/** A bench that can be predicted; `profile` adds lines to its only profile. */
export function benchText(profile = ''): string {
  return `detent 1

${sample}
cooler tower kind air {
  block-resistance 0.05 K/W
  radiator { 100 % 0.1 K/W }
}

room den {
  air 20 °C
  humidity 40 %
}

load work { cores 4; activity 0.8 }

profile daily {
  part sample
  cooler tower
  room den
  steps {
    1 to 4 cores   46x
  }
${profile}}
`
}
