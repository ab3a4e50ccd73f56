/** Two invented benches that between them use every word of the language, written as the formatter writes. */

export const plateBench = `detent 1                                # language version

part trial-k3 {
  cores 10
  reference 100 MHz
  ratio 9x to 60x
  core-voltage 0.70 V to 1.48 V
  die-limit 98 °C
  needs {                               # measured on this sample
    34x   0.975 V
    42x   1.070 V
    49x   1.215 V
    53x   1.330 V
    56x   1.445 V
  }
  switching 1.9 nF                      # one core at activity 1
  leakage 15 W at 1.18 V 58 °C
  leakage-doubling 27 K
  shared-power 13 W
  idle-power 8 W
  package-resistance 0.10 K/W
  core-resistance 0.52 K/W
  correlated switching leakage -0.93
}

cooler cold-slab kind thermoelectric {
  modules 3
  module { at 27 °C; current 14 A; voltage 15.1 V; heat 131 W; difference 67 K }
  drive-current 6.5 A
  block-resistance 0.03 K/W
  radiator {
    25 %  0.085 K/W
    100 % 0.041 K/W
  }
  rating 200 W
}

room shed {
  air 17 °C to 25 °C
  humidity 38 % to 60 %
}

load bake {
  cores 10
  activity 1.0
  vector yes
}

profile frost-edge {
  part trial-k3
  cooler cold-slab
  room shed
  steps {                               # ratio by the number of active cores
    1 to 2 cores   56x
    3 to 5 cores   53x
    6 to 10 cores  49x
  }
  bands {                               # ratio given back as the die warms
    1 to 2 cores   above 37 °C  -1x
    1 to 2 cores   above 54 °C  -2x
    3 to 10 cores  above 61 °C  -2x
  }
  vector -2x
  voltage {
    core needs + 15 mV
    set 56x 1.450 V
  }
  limits {
    die 93 °C
    sustained-power 185 W over 28 s
    current 175 A
  }
  drive dew + 3 K
  fan {                                 # by coolant temperature
    25 °C   25 %
    35 °C   55 %
    47 °C   100 %
  }
  expect bake holds >= 4.5 GHz for 10 min
  expect idle plate above dew by 2 K
}
`

export const loopBench = `detent 1
use "more.detent"

part trial-m9 {
  cores 8
  reference 100 MHz
  ratio 8x to 58x
  ratio-step 0.5x                       # default 1x
  core-voltage 0.66 V to 1.44 V
  die-limit 99 °C
  trip 111 °C                           # where the machine stops
  needs { 39x 1.005 V; 52x 1.285 V }    # a short table may stand on one line
  needs-at 61 °C
  needs-slope 0.3 mV/K
  vector-needs 25 mV
  switching 1.7 nF ± 0.04 nF
  leakage 10 W at 1.19 V 59 °C
  leakage-doubling 29 K
  leakage-exponent 3
  shared-power 11 W
  idle-power 7 W
  package-resistance 0.09 K/W
  core-resistance 0.51 K/W
  die-heat 13 J/K
  note "swapped for a bicycle"
}

cooler wide-loop kind loop {            # kind air has the same keys
  block-resistance 0.05 K/W
  radiator {
    20 %  0.091 K/W
    100 % 0.044 K/W
  }
  plate-heat 170 J/K
  coolant-heat 4100 J/K
}

cooler tap-water kind chilled {
  coolant 9 °C
  capacity 340 W
  beyond 0.07 K/W
  block-resistance 0.05 K/W
}

cooler wound-slab kind thermoelectric {
  modules 2
  module { seebeck 52 mV/K; resistance 0.82 Ω; conductance 1.3 W/K }
  drive-current 7.5 A
  drive-when-off yes                    # the plate stays driven when the machine is off
  block-resistance 0.04 K/W
  radiator { 100 % 0.05 K/W }
  insulated yes
}

board plank {
  core-voltage-step 5 mV
  load-line 0.3 mΩ
  supply 800 W
  other-power 55 W                      # what else hangs on the supply
  menu {                                # the labels of this bench's own firmware
    core-voltage "Sheet two" "Left field"
  }
}

load duo { cores 2; activity 0.9 }
load march { cores 1 to 8; activity 1.0; vector yes }   # every core count

profile plain {
  part trial-m9
  cooler wide-loop
  room attic
  board plank
  steps {
    1 to 4 cores   51x
    5 to 8 cores   48.5x
  }
  bands return 3 K {
    1 to 8 cores   above 74 °C  -1x
  }
  voltage { core fixed 1.29 V }         # one value for all
  limits {
    die 89 °C
    current 170 A
    burst-power 230 W
    sustained-power 155 W over 30 s
  }
  also {                                # carried, never predicted
    "memory clock" "3000 MT/s"
    "sleep states" "on"
  }
  expect duo holds >= 5.0 GHz
  expect march die <= 84 °C
  expect march power <= 195 W
  expect march margin >= 15 W
  allow voltage-grid "the plank rounds by itself"
}

profile dusk based-on plain { drive off }               # drive: full | off | hold 8 °C | dew + 2 K

run still-evening of plain under march {
  date 2026-01-12 21:40
  revision "3fa81c0"                    # the profile as it was
  air 21.5 °C
  humidity 47 % ± 2 %
  log "logs/still-evening.csv" {
    column time "elapsed" s
    column clock "core clock" MHz
    column voltage "die voltage" V
    column power "package" W
    column die "hot spot" °C
    delimiter semicolon
    decimal comma
  }
  score 18240 "points" higher
  score 41.25 "s" lower
  held 30 min
}

run by-hand of dusk under idle {
  measured { clock 4.71 GHz; voltage 1.231 V; power 182 W; die 64 °C ± 1 K }
  stopped after 12 min "hang"
}
`

export const benches = [plateBench, loopBench]
