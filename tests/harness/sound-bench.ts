/** An invented bench without a finding, for tests that are about something else. */
import { partText, rowsText } from './make-text.ts'

const willow = partText('willow-4', {
  needs: rowsText('30x   0.930 V', '40x   1.040 V', '50x   1.240 V'),
  'leakage-doubling': '30 K',
})

/** `bench.detent`: a part of 4 cores from 8x to 50x, a loop, a room, one load. Settles near 40 °C at 46x. */
export const soundBench = `--- bench.detent
detent 1

${willow}
cooler pond-loop kind loop {
  block-resistance 0.05 K/W
  radiator { 100 % 0.06 K/W }
}

room loft {
  air 22 °C
  humidity 50 %
}

load weave { cores 4; activity 1.0 }
`

/** `a.detent`: a profile with these lines behind its part, cooler and room, on the sound bench; `more` stands below it. */
export function onBench(lines: string, more = ''): string {
  return `--- a.detent
detent 1
use "bench.detent"

profile daily {
  part willow-4
  cooler pond-loop
  room loft
${lines}
}
${more}
${soundBench}`
}
