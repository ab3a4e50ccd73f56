/** A bench that can be worked out on paper: no leakage, one voltage, a loop without a fan table. */
import type { Bench, Corner, Load, Part, Profile } from '../../server/model/types.ts'
import { makeBoard, makeLoop, makePart, makeProfile } from '../harness/make.ts'

const part = makePart({
  dieLimitC: 110,
  needs: [
    { ratio: 40, voltageV: 1 },
    { ratio: 50, voltageV: 1.2 },
  ],
  leakageW: 0,
  leakageAtC: 25,
  leakageDoublingK: 25,
  sharedPowerW: 10,
})

const profile = makeProfile({ voltage: { kind: 'fixed', voltageV: 1.2 } })

export const loop: Bench = {
  part,
  cooler: makeLoop({ radiator: [{ dutyPct: 100, resistanceKPerW: 0.05 }] }),
  profile,
  board: makeBoard(),
}

export const corner: Corner = { airC: 25, humidityPct: 50 }
export const all: Load = { kind: 'work', cores: 8, activity: 1, vector: false }

export const withPart = (change: Partial<Part>): Bench => ({ ...loop, part: { ...part, ...change } })
export const withProfile = (change: Partial<Profile>): Bench => ({ ...loop, profile: { ...profile, ...change } })
