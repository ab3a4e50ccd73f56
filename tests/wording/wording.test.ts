import { describe, expect, it } from 'vitest'
import type { Settled } from '../../server/model/types.ts'
import { settledCell } from '../../server/wording/cells.ts'
import { activeCoresText, coresText, counted, listed, quotedList } from '../../server/wording/counts.ts'
import { givenVolts, neededVolts } from '../../server/wording/entered.ts'
import { limiterText } from '../../server/wording/limiters.ts'
import { missingText, obstacleText } from '../../server/wording/missing.ts'
import { pointText, pointWords } from '../../server/wording/places.ts'
import { clockTime, durationText } from '../../server/wording/times.ts'

describe('counts and lists', () => {
  it.each([
    [counted(1, 'file'), '1 file'],
    [counted(0, 'error'), '0 errors'],
    [coresText(3, 6), '3 to 6 cores'],
    [activeCoresText(1), '1 active core'],
    [listed([]), ''],
    [listed(['a']), 'a'],
    [quotedList(['a', 'b', 'c'], 'or'), '`a`, `b` or `c`'],
  ])('%s is %s', (written, wanted) => {
    expect(written).toBe(wanted)
  })
})

describe('times', () => {
  it.each([
    [durationText(0.25), '0.3 s'],
    [durationText(59.99), '59 s'],
    [durationText(60), '1 min'],
    [durationText(432), '7 min 12 s'],
    [durationText(3600), '1 h'],
    [durationText(3725), '1 h 2 min 5 s'],
    [clockTime(432), '7:12'],
    [clockTime(28.7), '0:28'],
    [clockTime(39.999_999_999_9), '0:40'],
  ])('%s is %s', (written, wanted) => {
    expect(written).toBe(wanted)
  })
})

describe('figures that are entered', () => {
  it('leave no gap between what is needed and what is given', () => {
    expect(neededVolts(1.2251)).toBe('1.226 V')
    expect(givenVolts(1.2259)).toBe('1.225 V')
    // Binary noise is no step.
    expect(neededVolts(1.1 + 0.125)).toBe('1.225 V')
  })
})

describe('what is missing', () => {
  const lack = { kind: 'part', definition: { name: 'b7' }, word: 'needs', broken: false }

  it('is worded once, whoever says it', () => {
    expect(missingText(lack)).toBe('part `b7` has no `needs`')
    expect(missingText({ ...lack, broken: true })).toBe('`needs` of part `b7` does not read')
    expect(missingText({ ...lack, definition: undefined })).toBe('the part it names is not known')
    expect(missingText({ ...lack, kind: 'profile', word: 'room' })).toBe('the profile has no `room`')
  })

  it('counts a load that does not read only where nothing else is predicted', () => {
    const profile = { broken: undefined }
    const load = { kind: 'load', definition: { name: 'render' }, word: 'cores', broken: true }
    expect(obstacleText({ profile, input: { bench: {}, missing: [load] } })).toBeUndefined()
    expect(obstacleText({ profile, input: { bench: undefined, missing: [lack, lack, load] } })).toBe(
      'part `b7` has no `needs` and `cores` of load `render` does not read',
    )
    expect(obstacleText({ profile: { broken: 'cycle' }, input: { bench: undefined, missing: [lack] } })).toBe(
      'the profile starts from itself',
    )
  })
})

describe('places', () => {
  const point = {
    name: 'render',
    load: { kind: 'work', cores: 5, activity: 1, vector: false },
    corner: { airC: 24, humidityPct: 55 },
  } as const

  it('name a core count that the load does not declare', () => {
    expect(pointText(point)).toBe('render (5 cores), at 24 °C, 55 %')
    expect(pointText({ ...point, declared: { from: 1, to: 4 } })).toBe(
      'render (5 cores, declared as 1 to 4), at 24 °C, 55 %',
    )
    expect(pointWords({ ...point, declared: { from: 12, to: 12 } })).toBe(
      '`render` on 5 active cores (declared as 12; the scheduler may keep any number busy) at 24 °C air and 55 % humidity',
    )
    expect(pointWords({ ...point, load: { kind: 'idle' }, name: 'idle' })).toBe('`idle` at 24 °C air and 55 % humidity')
  })
})

describe('a settled load', () => {
  it('says what holds its clock', () => {
    expect(limiterText({ state: 'alternating', limiter: 'band' })).toBe('band, alternating')
    expect(limiterText({ state: 'steady', limiter: 'none' })).toBe('')
    const settled = { state: 'throttled', limiter: 'die-limit', clockMhz: 4800, dieC: 95 } as unknown as Settled
    expect(settledCell(settled)).toBe('4.80 GHz, 95.0 °C (die limit)')
    expect(settledCell({ ...settled, state: 'runaway' })).toBe('no steady temperature')
    expect(settledCell(undefined)).toBe('–')
  })
})
