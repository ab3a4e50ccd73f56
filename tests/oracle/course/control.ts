/** The controller of section 10 by groups: bands of each row, the die and the power ceiling. All of it outlives a step. */
import type { Corner } from '../../../server/model/types.ts'
import { type Chip, ofActive, type Ratios } from '../chip.ts'
import type { InForce } from '../ladder.ts'
import { capOf, caseOf, ceilingRatios, covers, dieCeilingC, fullRatio, lastCount, lowerOf } from '../levels.ts'
import type { Doing } from './course.ts'

export interface Look {
  readonly sensedC: number
  /** E: the power averaged over the stated time. */
  readonly averageW: number
  /** The power at a level now. */
  readonly powerAt: (ratios: Ratios) => number
}

/** How far a load can be lowered, counted from its first level. */
interface Reach {
  readonly cap: number
  readonly last: number
}

export class Controller {
  readonly #chip: Chip
  readonly #corner: Corner
  readonly #isIn: boolean[][]
  readonly #reaches = new Map<Doing, Reach>()
  #byDie: number
  #byPower: number
  #before = Number.NaN
  #last = 0

  constructor(chip: Chip, corner: Corner, inForce?: InForce) {
    this.#chip = chip
    this.#corner = corner
    const enteredC = inForce?.enteredC ?? Number.NEGATIVE_INFINITY
    this.#isIn = chip.groups.map(group => group.bands.map(row => row.aboveC <= enteredC))
    this.#byDie = inForce?.byDie ?? 0
    this.#byPower = inForce?.byPower ?? 0
  }

  #reachOf(doing: Doing): Reach | undefined {
    if (doing.kind !== 'work') return undefined
    const known = this.#reaches.get(doing)
    if (known) return known
    const made = {
      cap: capOf(caseOf(this.#chip, doing.task, this.#corner)).count,
      last: lastCount(this.#chip, doing.task),
    }
    this.#reaches.set(doing, made)
    return made
  }

  /** The level before anything is given back. */
  capOf(doing: Doing): Ratios {
    return doing.kind === 'work' ? ceilingRatios(this.#chip, doing.task, this.#reachOf(doing)?.cap ?? 0) : []
  }

  /** One look: what every group runs at until the next one. */
  look(doing: Doing, { sensedC, averageW, powerAt }: Look): Ratios {
    const { bench, groups } = this.#chip
    const reach = this.#reachOf(doing)
    groups.forEach((group, index) => {
      group.bands.forEach((row, at) => {
        const isIn = this.#isIn[index] ?? []
        if (sensedC >= row.aboveC) isIn[at] = true
        else if (sensedC < row.aboveC - group.returnK) isIn[at] = false
      })
    })
    // Without work the last load's ratios are what could be given back.
    if (reach) this.#last = reach.last - reach.cap
    const ceilingC = dieCeilingC(bench)
    if (sensedC >= ceilingC && (sensedC > this.#before || this.#byDie === 0))
      this.#byDie += this.#byDie < this.#last ? 1 : 0
    else if (sensedC < ceilingC && this.#byDie > 0 && sensedC < this.#before) this.#byDie -= 1
    this.#before = sensedC
    const at = (count: number): Ratios =>
      doing.kind === 'work' ? ceilingRatios(this.#chip, doing.task, (reach?.cap ?? 0) + count) : []
    const { sustainedPowerW = Number.POSITIVE_INFINITY } = bench.profile.limits
    if (averageW >= sustainedPowerW && powerAt(at(this.#byPower)) > sustainedPowerW)
      this.#byPower += this.#byPower < this.#last ? 1 : 0
    else if (averageW < sustainedPowerW && this.#byPower > 0) this.#byPower -= 1
    if (doing.kind !== 'work') return []
    const banded = ofActive(this.#chip, doing.task, (group, cores, index) => {
      const drops = group.bands.filter((row, row_) => this.#isIn[index]?.[row_] && covers(row, cores))
      return Math.max(group.ratioLow, fullRatio(group, doing.task, cores) - Math.max(0, ...drops.map(row => row.drop)))
    })
    return lowerOf(banded, lowerOf(at(this.#byDie), at(this.#byPower)))
  }
}
