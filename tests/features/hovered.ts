/** A profile on the invented bench, and its hovers with what must hold for each of them. */
import { expect } from 'vitest'
import type { Settled } from '../../server/model/types.ts'
import type { Prediction } from '../../server/semantic/predict.ts'
import { loadAtCursor } from '../harness/fixture.ts'
import { bench } from './bench.ts'

export const profile = `
profile daily {
  part sample-b7
  cooler te-plate
  room garage
  board bench-board
  steps {
    1 to 2 cores   57x
    3 to 6 cores   54x
    7 to 12 cores  50x
  }
  bands {
    1 to 2 cores   above 38 °C  -1x
    1 to 2 cores   above 55 °C  -2x
    3 to 12 cores  above 62 °C  -2x
  }
  vector -2x
  voltage {
    core needs + 10 mV
    set 57x 1.455 V
  }
  limits { die 95 °C; sustained-power 260 W over 30 s; current 180 A }
  drive dew + 2 K
  fan { 24 °C 25 %; 48 °C 100 % }
  expect render holds >= 4.7 GHz
}
`

export interface Shown {
  readonly text: string
  readonly answer: string
  readonly rest: string
  readonly covered: string
  readonly predictions: readonly Prediction[]
}

/** So many lines may stand before the first table. */
const mostLines = 4

/** The hover at `$0` in the bench with a profile, and the predictions it must agree with. */
export async function hoverIn(text: string): Promise<Shown> {
  const { service, cursor, text: textOf } = await loadAtCursor(text)
  const hover = service.features.hover(cursor.uri, cursor.offset)
  if (hover === undefined) throw new Error('Nothing is shown at the cursor')
  expect(hover.text).not.toMatch(/<\/?[a-z]/i)
  for (const line of hover.text.split('\n').filter(one => one.startsWith('|'))) {
    expect(line.replaceAll('\\|', '').split('|').length - 2, line).toBeLessThanOrEqual(4)
  }
  expect(hover.text).not.toMatch(/NaN|undefined|Infinity|null/)
  const { answer, rest } = hover
  expect(hover.text).toBe(rest === '' ? answer : `${answer}\n\n${rest}`)
  const lines = answer.split('\n').filter(line => line !== '')
  const table = lines.findIndex(line => line.startsWith('|'))
  // A hover without tables is short all the same: forms, meaning, caution, facts and what it comes to.
  expect(Math.max(table, 0), answer).toBeLessThanOrEqual(mostLines)
  expect(lines.filter(line => !line.startsWith('|')).length, answer).toBeLessThanOrEqual(10)
  const predictions = service.evaluations(cursor.uri).flatMap(one => one.predictions)
  return { text: hover.text, answer, rest, covered: textOf(cursor.uri).slice(hover.start, hover.end), predictions }
}

/** The bench and the profile with the cursor before the last place where `mark` stands. */
export function at(mark: string, base = bench + profile): string {
  const offset = base.lastIndexOf(mark)
  if (offset < 0) throw new Error(`${mark} is not in the fixture`)
  return `${base.slice(0, offset)}$0${base.slice(offset)}`
}

/** The rows of the tables in a hover, cells trimmed. */
export function rows(text: string): readonly (readonly string[])[] {
  return text
    .split('\n')
    .filter(line => line.startsWith('|') && !line.startsWith('|:-'))
    .map(line =>
      line
        .split('|')
        .slice(1, -1)
        .map(cell => cell.trim()),
    )
}

export function settled(predictions: readonly Prediction[], load: string, airC: number, humidityPct: number): Settled {
  const found = predictions.find(
    one => one.load.name === load && one.corner.airC === airC && one.corner.humidityPct === humidityPct,
  )
  if (found === undefined) throw new Error(`${load} is not predicted`)
  return found.settled
}

/** The first number in a text that has this unit. */
export function figure(text: string | undefined, unit: string): number {
  const found = new RegExp(`(-?[0-9.]+) ${unit}`).exec(text ?? '')
  return Number(found?.[1] ?? Number.NaN)
}
