/**
 * Whole evenings at an invented bench: one run for each setting, each with its log from rest through the warm-up, as text.
 * What the bench does on the average is followed once; each seed scatters it afresh: how well a run repeats itself, a load
 * that is never quite even and warms plate and coolant as it goes, and sensors whose readings are correlated.
 */

import type { LogSource } from '../../server/bench/log/source.ts'
import type { WorkLoad } from '../../server/model/prepare.ts'
import { settle } from '../../server/model/settle.ts'
import { simulate } from '../../server/model/transient/simulate.ts'
import type { Bench, LoopCooler } from '../../server/model/types.ts'
import { seededNormal } from './random.ts'
import { type Setting, settings, statedPart, trueLoop, truePart } from './synthetic-points.ts'

/** Light enough that ten minutes are many time constants, as an hour is at a large loop. */
const loop: LoopCooler = { ...trueLoop, coolantHeatJPerK: 700 }

const REST_S = 20
const LOAD_S = 800
const STEP_S = 4

interface Course {
  readonly timeS: readonly number[]
  readonly clockMhz: readonly number[]
  readonly powerW: readonly number[]
  readonly dieC: readonly number[]
  /** At rest the voltage is another. */
  readonly voltageV: readonly number[]
  /** How far the die follows the power: at once, and as the loop warms, with that time constant. */
  readonly quickKPerW: number
  readonly slowKPerW: number
  readonly slowS: number
}

function courseOf([cores, ratio, voltageV, dutyPct, airC]: Setting): Course {
  const bench: Bench = {
    part: truePart,
    cooler: loop,
    board: { loadLineOhm: 0, otherPowerW: 50 },
    profile: {
      steps: [{ fromCores: 1, toCores: 12, ratio }],
      bands: [],
      returnK: 0,
      vectorDrop: 0,
      voltage: { kind: 'fixed', voltageV },
      limits: {},
      drive: { kind: 'off' },
      fan: [{ coolantC: 0, dutyPct }],
    },
  }
  const load: WorkLoad = { kind: 'work', cores, activity: 1, vector: false }
  const corner = { airC, humidityPct: 45 }
  const run = simulate(bench, load, corner, { overS: LOAD_S, sampleS: STEP_S })
  const rest = settle(bench, { kind: 'idle' }, corner)
  if (run === undefined || rest?.dieC == null) throw new Error('a setting has no course')
  const { series } = run
  const resting = Array.from({ length: Math.ceil(REST_S / STEP_S) }, (_, at) => at * STEP_S)
  const before = <T>(value: T): T[] => resting.map(() => value)
  const radiator = loop.radiator.find(one => one.dutyPct === dutyPct)?.resistanceKPerW ?? Number.NaN
  return {
    timeS: [...resting, ...series.timeS.slice(1).map(time => REST_S + time)],
    clockMhz: [...before(800), ...series.clockMhz.slice(1).map(Number)],
    powerW: [...before(truePart.idlePowerW), ...series.powerW.slice(1).map(Number)],
    dieC: [...before(rest.dieC), ...series.dieC.slice(1).map(Number)],
    voltageV: [...before(0.7), ...series.timeS.slice(1).map(() => voltageV)],
    quickKPerW: truePart.packageResistanceKPerW + truePart.coreResistanceKPerW / cores,
    slowKPerW: loop.blockResistanceKPerW + radiator,
    slowS: loop.coolantHeatJPerK * radiator,
  }
}

/** Spread of one reading, how much of it is left in the next, and how uneven a load is. */
const sensor = { clock: 2, voltage: 0.0015, power: 0.8, die: 0.5 }
const HANGING = 0.6
const UNEVEN_SHARE = 0.008
const UNEVEN_HANGING = 0.5
/** How well a run repeats itself. */
const REPEATS_W = 0.2
const REPEATS_K = 0.15

function wandering(sd: number, hanging: number, normal: () => number): () => number {
  let before = sd * normal()
  const fresh = sd * Math.sqrt(1 - hanging * hanging)
  return () => {
    const found = before
    before = hanging * before + fresh * normal()
    return found
  }
}

function logText(course: Course, normal: () => number): string {
  const clock = wandering(sensor.clock, HANGING, normal)
  const voltage = wandering(sensor.voltage, HANGING, normal)
  const power = wandering(sensor.power, HANGING, normal)
  const die = wandering(sensor.die, HANGING, normal)
  const load = wandering(UNEVEN_SHARE, UNEVEN_HANGING, normal)
  const [offW, offK] = [REPEATS_W * normal(), REPEATS_K * normal()]
  const keeps = Math.exp(-STEP_S / course.slowS)
  let warmed = 0
  let text = 'elapsed;core clock;die voltage;package;hot spot\n'
  const { timeS } = course
  for (let at = 0; at < timeS.length; at++) {
    const isLoaded = (timeS[at] as number) >= REST_S
    const more = isLoaded ? load() * (course.powerW[at] as number) : 0
    const warmer = course.quickKPerW * more + warmed
    warmed = keeps * warmed + (1 - keeps) * course.slowKPerW * more
    const cells = [
      timeS[at] as number,
      Math.round((course.clockMhz[at] as number) + clock()),
      Math.round(1e4 * ((course.voltageV[at] as number) + voltage())) / 1e4,
      Math.round(1e2 * ((course.powerW[at] as number) + more + offW + power())) / 1e2,
      Math.round(1e2 * ((course.dieC[at] as number) + warmer + offK + die())) / 1e2,
    ]
    text += `${cells.join(';')}\n`
  }
  return text
}

/** The bench as it is described before any run, with a run and its log for each setting. */
export function benchText(): string {
  const { part, cooler } = { part: statedPart, cooler: loop }
  const rows = settings.map(
    ([cores, ratio, voltageV, dutyPct, airC], index) => `
profile p${index + 1} {
  part sample
  cooler big-loop
  room den
  steps { 1 to 12 cores ${ratio}x }
  voltage { core fixed ${voltageV} V }
  fan { 0 °C ${dutyPct} % }
}

run r${index + 1} of p${index + 1} under on-${cores} {
  air ${airC} °C ± 0 K
  humidity 45 %
  log "${index + 1}.csv" {
    column time "elapsed" s
    column clock "core clock" MHz
    column voltage "die voltage" V
    column power "package" W
    column die "hot spot" °C
  }
}
`,
  )
  const loads = [...new Set(settings.map(([cores]) => cores))].map(
    cores => `load on-${cores} { cores ${cores}; activity 1.0 }\n`,
  )
  return `detent 1

part sample {
  cores ${part.cores}
  reference 100 MHz
  ratio 8x to 60x
  core-voltage 0.65 V to 1.50 V
  die-limit ${part.dieLimitC} °C
  needs { ${part.needs.map(({ ratio, voltageV }) => `${ratio}x ${voltageV} V`).join('; ')} }
  switching ${part.switchingNf} nF
  leakage ${part.leakageW} W at ${part.leakageAtV} V ${part.leakageAtC} °C
  leakage-doubling ${part.leakageDoublingK} K
  leakage-exponent ${part.leakageExponent}
  shared-power ${part.sharedPowerW} W
  idle-power ${part.idlePowerW} W
  package-resistance ${part.packageResistanceKPerW} K/W
  core-resistance ${part.coreResistanceKPerW} K/W
  die-heat ${part.dieHeatJPerK} J/K
}

cooler big-loop kind loop {
  block-resistance ${cooler.blockResistanceKPerW} K/W
  radiator { ${cooler.radiator.map(({ dutyPct, resistanceKPerW }) => `${dutyPct} % ${resistanceKPerW} K/W`).join('; ')} }
  plate-heat ${cooler.plateHeatJPerK} J/K
  coolant-heat ${cooler.coolantHeatJPerK} J/K
}

room den { air 20 °C; humidity 45 % }
${loads.join('')}${rows.join('')}`
}

export const logNames: readonly string[] = settings.map((_, index) => `${index + 1}.csv`)

export interface Evenings extends LogSource {
  /** The logs are those of this seed from now on. */
  begin(seed: number): void
}

/** The logs beside a file, written when they are read. */
export function evenings(folder: string): Evenings {
  const courses = settings.map(courseOf)
  const encoder = new TextEncoder()
  let evening = 0
  return {
    begin: seed => {
      evening = seed
    },
    open: async uri => {
      const index = logNames.indexOf(uri.slice(folder.length))
      const course = courses[index]
      if (course === undefined) return undefined
      const bytes = encoder.encode(logText(course, seededNormal(evening * 1000 + index)))
      return {
        size: bytes.length,
        chunks: async function* () {
          yield bytes
        },
      }
    },
  }
}
