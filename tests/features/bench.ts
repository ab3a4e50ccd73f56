/** An invented bench that predicts something, for the tests of the features. */
import { partText, rowsText } from '../harness/make-text.ts'

export const part = partText('sample-b7', {
  cores: '12',
  ratio: '8x to 62x',
  'core-voltage': '0.65 V to 1.50 V',
  'die-limit': '100 °C',
  needs: rowsText('36x   0.980 V', '44x   1.085 V', '50x   1.225 V', '54x   1.340 V', '57x   1.450 V'),
  switching: '2.1 nF',
  leakage: '16 W at 1.20 V 60 °C',
  'leakage-doubling': '28 K',
  'shared-power': '14 W',
  'idle-power': '9 W',
  'package-resistance': '0.11 K/W',
  'core-resistance': '0.55 K/W',
})

const loop = `cooler big-loop kind loop {
  block-resistance 0.05 K/W
  radiator {
    20 %  0.090 K/W
    100 % 0.045 K/W
  }
}
`

const plate = `cooler te-plate kind thermoelectric {
  modules 3
  module { at 27 °C; current 15 A; voltage 15.4 V; heat 142 W; difference 68 K }
  drive-current 7 A
  block-resistance 0.03 K/W
  radiator {
    20 %  0.090 K/W
    100 % 0.040 K/W
  }
}
`

const room = `room garage {
  air 18 °C to 24 °C
  humidity 40 % to 55 %
}
`

const loads = `load render {
  cores 12
  activity 1.0
}

load pair { cores 2; activity 0.9 }
`

const board = `board bench-board {
  core-voltage-step 5 mV
  load-line 0.4 mΩ
  supply 850 W
}
`

export const bench = `detent 1

${part}
${loop}
${plate}
${room}
${loads}
${board}`

/**
 * A profile on that bench.
 * @param more lines behind its steps
 */
export function dailyText(
  more: readonly string[] = [],
  steps: readonly string[] = ['1 to 2 cores   57x', '3 to 12 cores  50x'],
): string {
  const rows = steps.map(row => `    ${row}\n`).join('')
  const lines = more.map(line => `  ${line}\n`).join('')
  return `profile daily {\n  part sample-b7\n  cooler big-loop\n  room garage\n  steps {\n${rows}  }\n${lines}}\n`
}
