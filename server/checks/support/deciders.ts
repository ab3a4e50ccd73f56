/**
 * What of a bench decides a finding, found by taking it away: if the finding goes with it, that is said. The corner of the
 * room that decides is named by every finding of its own.
 */
import { type Bench, isWork, type Load, type SettledState, settleState } from '../../model/index.ts'
import type { Corner, Drive } from '../../model/types.ts'
import { drivenPlate } from '../../semantic/coolers/index.ts'
import { driveText, hasKnob, hasSupply, shareOf } from '../../semantic/drives.ts'
import { plain, statedText } from '../../wording/figures.ts'

interface Case {
  readonly bench: Bench
  readonly load: Load
}

/** Something that a bench has more than the simplest one, and the same case without it. */
interface Decider {
  /** The sentence about it, up to what would be without it. */
  readonly words: string
  readonly without: Case
}

function unevenness({ bench, load }: Case): Decider | undefined {
  if (!isWork(load) || load.uneven === undefined || !(load.uneven > 1)) return undefined
  return {
    words: `\`uneven ${statedText(load.uneven, '')}\` decides: with all cores alike`,
    without: { bench, load: { ...load, uneven: 1 } },
  }
}

/** The case with another plate. */
function replated({ bench, load }: Case, plate: NonNullable<ReturnType<typeof drivenPlate>>): Case {
  return { bench: { ...bench, cooler: plate }, load }
}

function leak(one: Case): Decider | undefined {
  const plate = drivenPlate(one.bench.cooler)
  const leakWPerK = plate?.plateLeakWPerK ?? 0
  if (plate === undefined || !(leakWPerK > 0)) return undefined
  return {
    words: `\`plate-leak ${statedText(leakWPerK, 'W/K')}\` decides: without that heat from the air`,
    without: replated(one, { ...plate, plateLeakWPerK: 0 }),
  }
}

function supplyLimit(one: Case): Decider | undefined {
  const plate = drivenPlate(one.bench.cooler)
  if (plate?.supplyLimitA === undefined || !hasSupply(one.bench.profile.drive)) return undefined
  const { supplyLimitA, ...unlimited } = plate
  return {
    words: `\`supply-limit ${statedText(supplyLimitA, 'A')}\` decides: from a stronger supply`,
    without: replated(one, unlimited),
  }
}

function leads(one: Case): Decider | undefined {
  const plate = drivenPlate(one.bench.cooler)
  const leadsOhm = plate?.leadsOhm ?? 0
  if (plate === undefined || !(leadsOhm > 0) || !hasSupply(one.bench.profile.drive)) return undefined
  return {
    words: `\`leads ${plain(Number((1000 * leadsOhm).toFixed(3)))} mΩ\` decides: without the voltage they take`,
    without: replated(one, { ...plate, leadsOhm: 0 }),
  }
}

function wiring(one: Case): Decider | undefined {
  const plate = drivenPlate(one.bench.cooler)
  const { wiringSeries = 1, wiringParallel = 1 } = plate ?? {}
  if (plate === undefined || !(wiringParallel > 1) || !hasSupply(one.bench.profile.drive)) return undefined
  return {
    words: `\`wiring ${wiringSeries} by ${wiringParallel}\` decides: with all modules in one row`,
    without: replated(one, { ...plate, wiringSeries: plate.modules, wiringParallel: 1 }),
  }
}

/** The case under another drive. */
function redriven({ bench, load }: Case, drive: Drive): Case {
  return { bench: { ...bench, profile: { ...bench.profile, drive } }, load }
}

function pulses(one: Case): Decider | undefined {
  const plate = drivenPlate(one.bench.cooler)
  const { drive } = one.bench.profile
  const share = shareOf(drive)
  if (plate === undefined || share === 1) return undefined
  return {
    words: `\`drive ${driveText(drive)}\` decides: under smooth current of the same mean`,
    without: redriven(one, { kind: 'fixed', currentA: share * plate.driveCurrentA }),
  }
}

/** A knob that is turned below what the modules are allowed. */
function knob(one: Case): Decider | undefined {
  const plate = drivenPlate(one.bench.cooler)
  const { drive } = one.bench.profile
  if (plate === undefined || !hasKnob(drive) || shareOf(drive) !== 1) return undefined
  return {
    words: `\`drive ${driveText(drive)}\` decides: with \`drive full\``,
    without: redriven(one, { kind: 'full' }),
  }
}

function fan(one: Case): Decider | undefined {
  const { profile } = one.bench
  if (profile.fan.length === 0) return undefined
  return {
    words: 'The `fan` table decides: at 100 %',
    without: { bench: { ...one.bench, profile: { ...profile, fan: [] } }, load: one.load },
  }
}

function temperature(one: Case): Decider | undefined {
  const plate = drivenPlate(one.bench.cooler)
  if (plate?.constantsAtC === undefined) return undefined
  const { constantsAtC, ...constant } = plate
  return {
    words: `The temperature of the modules decides: with their constants as at ${statedText(Number(constantsAtC.toFixed(1)), '°C')}`,
    without: replated(one, constant),
  }
}

const deciders: readonly ((one: Case) => Decider | undefined)[] = [
  unevenness,
  fan,
  knob,
  pulses,
  wiring,
  leads,
  supplyLimit,
  leak,
  temperature,
]

/**
 * A sentence for each thing that decides, with a space before it; empty where none does alone.
 *
 * @param isFine whether the finding is gone
 * @param good what would be then, after `it would`
 */
export function deciderWords(
  bench: Bench,
  { load, corner }: { readonly load: Load; readonly corner: Corner },
  isFine: (settled: SettledState) => boolean,
  good = 'hold',
): string {
  return deciders
    .flatMap(decider => {
      const found = decider({ bench, load })
      const settled = found && settleState(found.without.bench, found.without.load, corner)
      return found !== undefined && settled != null && isFine(settled) ? [` ${found.words} it would ${good}.`] : []
    })
    .join('')
}
