/** A bench whose part has cores of two kinds. */

const part = `detent 1
part otter-r3 {
  group broad {
    cores 4
    ratio 8x to 56x
    needs { 46x 1.090 V; 53x 1.310 V }
    switching 2.2 nF
    core-resistance 0.48 K/W
  }
  group small {
    cores 10
    ratio 8x to 42x
    core-voltage 0.70 V to 1.34 V
    needs { 33x 0.990 V; 40x 1.195 V }
    switching 0.75 nF
    core-resistance 0.85 K/W
  }
  reference 100 MHz
  core-voltage 0.65 V to 1.38 V
  die-limit 97 °C
  leakage 17 W at 1.15 V 60 °C
  shared-power 13 W
  idle-power 8 W
  package-resistance 0.11 K/W
}
cooler ring kind loop {
  radiator { 40 % 0.055 K/W; 100 % 0.034 K/W }
  block-resistance 0.043 K/W
  plate-heat 140 J/K
  coolant-heat 3.8 kJ/K
}
room attic { air 25 °C; humidity 48 % }
load whole { cores broad 4; cores small 10; activity 1.0 }
load few { cores 2; activity 0.8 }
`

/** The bench with a profile `day`. @param settings lines of it beside part, cooler, room; @param more other definitions */
export function twoGroups(settings: string, more = ''): string {
  return `${part}${more}profile day {\n  part otter-r3\n  cooler ring\n  room attic\n${settings}\n}\n`
}

/** Steps and voltages that nothing is found in. */
export const soundSteps = `  steps broad {
    1 to 2 cores   53x
    3 to 4 cores   50x
  }
  steps small { 1 to 10 cores  40x }`

/** The same bench with `small` on a supply rail of its own. */
export function railed(text: string, rail = 'second'): string {
  return text.replace('cores 10\n', `cores 10\n    rail ${rail}\n`)
}
