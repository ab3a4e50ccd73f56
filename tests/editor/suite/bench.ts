/** A bench with a profile that predicts something; the same text stands in no other test. */
export const bench = `detent 1

part rig-one {
  cores 8
  reference 100 MHz
  ratio 8x to 58x
  core-voltage 0.65 V to 1.45 V
  die-limit 95 °C
  needs {
    40x   1.000 V
    48x   1.160 V
    53x   1.300 V
  }
  switching 2.3 nF
  leakage 12 W at 1.20 V 60 °C
  shared-power 10 W
  idle-power 12 W
  package-resistance 0.10 K/W
  core-resistance 0.50 K/W
}

cooler tower kind air {
  block-resistance 0.03 K/W
  radiator {
    30 %  0.240 K/W
    100 % 0.150 K/W
  }
}

room shed {
  air 20 °C to 27 °C
  humidity 45 %
}

load all-cores { cores 8 }

profile first {
  part rig-one
  cooler tower
  room shed
  steps {
    1 to 2 cores   52x
    3 to 8 cores   48x
  }
  bands {
    1 to 8 cores   above 60 °C  -1x
  }
}
`
