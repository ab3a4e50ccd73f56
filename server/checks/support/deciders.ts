/** What of a bench decides a finding, found by taking it away: if the finding goes with it, that is said. */
import { type Bench, isWork, type Load, type SettledState, settleState } from '../../model/index.ts'
import type { Corner } from '../../model/types.ts'
import { drivenPlate } from '../../semantic/coolers/index.ts'
import { hasSupply } from '../../semantic/drives.ts'
import { statedText } from '../../wording/figures.ts'

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

function temperature(one: Case): Decider | undefined {
  const plate = drivenPlate(one.bench.cooler)
  if (plate?.constantsAtC === undefined) return undefined
  const { constantsAtC, ...constant } = plate
  return {
    words: `The temperature of the modules decides: with their constants as at ${statedText(Number(constantsAtC.toFixed(1)), '°C')}`,
    without: replated(one, constant),
  }
}

const deciders: readonly ((one: Case) => Decider | undefined)[] = [unevenness, leak, supplyLimit, temperature]

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
