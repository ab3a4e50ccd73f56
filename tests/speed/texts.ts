/** Texts of any length on one invented bench. */

export const benchText = `detent 1

part willow-12 {
  cores 12
  reference 100 MHz
  ratio 8x to 60x
  core-voltage 0.70 V to 1.45 V
  die-limit 100 °C
  needs {
    36x   0.940 V
    44x   1.055 V
    50x   1.190 V
    57x   1.420 V
  }
  switching 2.1 nF ± 0.05 nF
  leakage 16 W at 1.15 V 60 °C
  leakage-doubling 30 K
  shared-power 12 W
  idle-power 12 W
  package-resistance 0.10 K/W
  core-resistance 0.50 K/W
}

cooler still-plate kind thermoelectric {
  modules 4
  module { at 35 °C; current 13.3 A; voltage 16.9 V; heat 138 W; difference 70 K }
  drive-current 7 A
  block-resistance 0.025 K/W
  radiator {
    20 %  0.070 K/W
    100 % 0.030 K/W
  }
}

cooler still-pond kind loop {
  block-resistance 0.04 K/W
  radiator {
    20 %  0.080 K/W
    100 % 0.038 K/W
  }
}

room loft {
  air 18 °C to 24 °C
  humidity 40 % to 55 %
}

load weave { cores 12; activity 1.0; vector yes }
load pair { cores 2; activity 0.9 }
`

/** Figures that may be a profile's alone, so that none comes to the same numbers. */
export interface OwnFigures {
  /** A limit that most loads stay below. */
  readonly sustainedW?: number
  /** A row of the fan table, which every load settles by. */
  readonly fanPct?: number
}

/** A profile of 27 lines; `index` makes its name and gives it one of four ratios, so that many come to the same numbers. */
export function profileText(index: number, { sustainedW = 210, fanPct = 55 }: OwnFigures = {}): string {
  const onPlate = index % 2 === 0
  return `
profile bench-run-${index} {
  part willow-12
  cooler ${onPlate ? 'still-plate' : 'still-pond'}
  room loft
  steps {
    1 to 4 cores   ${52 + (index % 4)}x
    5 to 12 cores  46x
  }
  bands {
    1 to 4 cores   above 62 °C  -1x
    5 to 12 cores  above 74 °C  -2x
  }
  vector -1x
  voltage { core needs + 20 mV }
  limits {
    die 92 °C
    sustained-power ${sustainedW} W over 75 s
  }
${onPlate ? '  drive dew + 2 K\n' : ''}  fan {
    24 °C   25 %
    34 °C   ${fanPct} %
    48 °C   100 %
  }
  expect weave die <= 88 °C
  expect pair holds >= 5.0 GHz
}
`
}

/** The bench and as many profiles as fill this many lines. */
export function longText(lines: number): string {
  let text = benchText
  for (let index = 0; text.split('\n').length < lines; index++) text += profileText(index)
  return text
}

const knownRows = `  known {
    4.40 GHz  1.055 V  190 W  66 °C   coolant 27 °C
    4.40 GHz  1.060 V  192 W  67 °C   coolant 28 °C  vector
    4.60 GHz  1.10 V  210 W  71 °C   air 22 °C
    4.60 GHz  1.11 V  212 W  72 °C   air 23 °C
    5.00 GHz  1.19 V  88 W  58 °C   cores 4  coolant 27 °C
    5.20 GHz  1.25 V  62 W  51 °C   cores 2  coolant 27 °C
    3.60 GHz  0.94 V  120 W   activity 0.8  air 22 °C
    5.40 GHz  1.31 V  66 W  55 °C   cores 2  air 22 °C
  }
`

/** A text on this bench, with eight points in its part that were seen. */
export function withKnown(text: string): string {
  return text.replace('  switching', `${knownRows}  switching`)
}

/** A profile of five ratios with three loads and two trials, to ask what to try next. */
export const triedText = `${withKnown(benchText)}
load draw { cores 12; activity 0.8 }

profile ladder {
  part willow-12
  cooler still-pond
  room loft
  steps {
    1 to 2 cores   52x
    3 to 4 cores   50x
    5 to 6 cores   48x
    7 to 8 cores   46x
    9 to 12 cores  44x
  }
  voltage { core needs + 20 mV }
}

run long of ladder under weave {
  measured { clock 4.4 GHz; voltage 1.06 V }
  held 1 h
}
run short of ladder under pair {
  measured { clock 5.2 GHz; voltage 1.22 V }
  stopped after 12 min "hang"
}
`
