/** A bench in which every word of the vocabulary has something to say, and the file that it uses. */

export const bench = `detent 1
use "extra.detent"
allow unused-name "spares"

part sample {
  cores 8
  reference 100 MHz
  ratio 8x to 60x
  ratio-step 1x
  core-voltage 0.65 V to 1.50 V
  die-limit 100 °C
  trip 112 °C
  needs {
    40x   1.000 V
    54x   1.300 V
  }
  needs-at 60 °C
  needs-slope 0.4 mV/K
  vector-needs 20 mV
  switching 2.2 nF
  leakage 16 W at 1.20 V 60 °C
  leakage-doubling 28 K
  leakage-exponent 3
  shared-power 12 W
  idle-power 9 W
  package-resistance 0.11 K/W
  core-resistance 0.55 K/W
  die-heat 12 J/K
}

fitted sample {
  constant switching 2.21 nF ± 0.1 nF from 2 nF ± 0.6 nF usual
  counted evening
  correlated switching shared-power -0.4
}

cooler stack kind thermoelectric {
  modules 3
  module { at 27 °C; current 15 A; voltage 15.4 V; heat 142 W; difference 68 K }
  drive-current 7 A
  drive-when-off no
  block-resistance 0.03 K/W
  radiator {
    20 %  0.090 K/W
    100 % 0.040 K/W
  }
  rating 400 W
  insulated no
  plate-heat 150 J/K
  coolant-heat 3000 J/K
}

room den {
  air 20 °C to 24 °C
  humidity 40 %
}

room spare { air 20 °C; humidity 40 % }

board desk {
  core-voltage-step 5 mV
  load-line 0.4 mΩ
  supply 850 W
  other-power 60 W
  menu {
    core-voltage "First page" "Feed"
  }
}

load pair { cores 2; activity 0.9 }
load all { cores 8; activity 1.0; vector yes }

profile daily {
  part sample
  cooler stack
  room den
  board desk
  steps {
    1 to 4 cores   52x
    5 to 8 cores   50x
  }
  bands return 3 K {
    1 to 4 cores   above 40 °C  -1x
  }
  vector -1x
  voltage {
    core needs + 60 mV
    set 52x 1.330 V
  }
  limits {
    die 95 °C
    sustained-power 125 W over 30 s
    burst-power 260 W
    current 220 A
  }
  drive dew + 2 K
  fan {
    24 °C   25 %
    40 °C   100 %
  }
  also {
    "memory clock" "3200 MT/s"
  }
  expect all power <= 200 W
  note "for every day"
  source "made up"
}

run evening of daily under all {
  date 2026-01-12 21:40
  revision "3fa81c0"
  air 21.5 °C
  humidity 47 %
  log "evening.csv" {
    column power "package" W
    delimiter semicolon
    decimal comma
  }
  measured { clock 4.7 GHz; voltage 1.2 V; power 150 W; die 64 °C; plate 30 °C; coolant 28 °C; current 120 A; drive 3 A; drive-voltage 20 V; fan 60 % }
  score 18240 "points" higher
  held 30 min
}
`

export const extra = 'detent 1\nload third { cores 3 }\n'
