/** What each kind of load answers for itself. A new kind has its row here; nothing else asks which kind a load is. */
import type { Load, Part } from './types.ts'

/** A load that keeps cores at work. */
export type Work = Extract<Load, { readonly kind: 'work' }>

interface LoadKind {
  /** Cores are at work: there are a ratio, a clock and a voltage. */
  readonly works: boolean
  /** The machine is switched on, so that plates are driven. */
  readonly isOn: boolean
}

const kinds: Readonly<Record<Load['kind'], LoadKind>> = {
  work: { works: true, isOn: true },
  idle: { works: false, isOn: true },
  off: { works: false, isOn: false },
}

/** Whether cores are at work. */
export const isWork = (load: Load): load is Work => kinds[load.kind].works

/** Whether the machine is switched on. */
export const isOn = (load: Load): boolean => kinds[load.kind].isOn

/** Whether the machine is on and no core is at work. */
export const isResting = (load: Load): boolean => isOn(load) && !isWork(load)

/** Active cores; 0 where none is at work. */
export const coresOf = (load: Load): number => (isWork(load) ? load.cores : 0)

/** The power in W that a load without work takes whatever happens, from the part's constants. */
export function restPowerW({ kind }: Exclude<Load, Work>, { idlePowerW }: Part): number {
  switch (kind) {
    case 'idle':
      return idlePowerW
    case 'off':
      return 0
  }
}
