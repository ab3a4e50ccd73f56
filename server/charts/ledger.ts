/** The ledger: ratio across, voltage up; what held and what stopped, what the part is taken to need, and what it is given. */
import { scaleLinear } from 'd3-scale'
import { line } from 'd3-shape'
import { Drawing, type Spot } from './drawing.ts'
import { acrossAxis, heading, keepScales, plotBox, upAxis } from './frame.ts'
import type { Figures, MarkPlace, Picture, PictureOptions } from './picture.ts'

/** Something at a ratio and a voltage that says its figures. */
interface Placed {
  readonly ratio: number
  readonly voltageV: number
  readonly sentence: string
  readonly place?: MarkPlace | undefined
}

interface TrialDot extends Placed {
  readonly end: 'held' | 'stopped'
  /** How long it held or ran, in s: the dot is larger for a longer trial. */
  readonly forS: number
  readonly text: string
}

export interface LedgerData {
  readonly title: string
  readonly note: string
  readonly trials: readonly TrialDot[]
  /** The rows of `needs`, ratios rising. */
  readonly stated: readonly Placed[]
  /** What each ratio is taken to need, and both ends of its interval in V. */
  readonly taken: readonly (Placed & { readonly lowV: number; readonly highV: number })[]
  readonly takenText: string
  /** The same where there is little room. */
  readonly takenShort: string
  /** What a profile gives at the die. */
  readonly given: readonly Placed[]
  readonly givenText: string
  /** What would tell most if it were tried. */
  readonly proposals: readonly (Placed & { readonly text: string })[]
  readonly figures: Figures
}

/** Dots grow with the logarithm of the time: a minute is small, an hour is not overwhelming. */
const radius = (forS: number): number => Math.min(9, 3.5 + Math.max(0, Math.log10(forS / 60)) * 2)

/** Beside the trials of the same ratio. */
const ASIDE = 9

export function drawLedger(data: LedgerData, options: PictureOptions): Picture {
  const drawing = new Drawing(options)
  const plot = plotBox(options, 20, heading(drawing, data.title, data.note))
  const { trials, stated, taken, given, proposals } = data
  const all: readonly Placed[] = [...trials, ...stated, ...taken, ...given, ...proposals]
  const ratios = all.map(({ ratio }) => ratio)
  const volts = [...all.map(({ voltageV }) => voltageV), ...taken.flatMap(({ lowV, highV }) => [lowV, highV])]
  const [least, most] = [Math.min(...ratios), Math.max(...ratios)]
  const [lowV, highV] = [Math.min(...volts), Math.max(...volts)]
  const sideways = Math.max(0.5, (most - least) * 0.06)
  const upwards = Math.max(0.02, (highV - lowV) * 0.08)
  const across = scaleLinear([least - sideways, most + sideways], [plot.x, plot.x + plot.width])
  const up = scaleLinear([lowV - upwards, highV + upwards], [plot.y + plot.height, plot.y])
  const at = ({ ratio, voltageV }: Placed): { x: number; y: number } => ({ x: across(ratio), y: up(voltageV) })
  upAxis(drawing, up, plot, 'voltage at the die, V', 7)
  acrossAxis(drawing, across, plot, 'ratio, x', Math.max(3, Math.round(plot.width / 70)))

  keepScales(drawing, plot)
  const path = line<Placed>()
    .digits(1)
    .x(one => at(one).x)
    .y(one => at(one).y)
  drawing.path(path([...stated]), 'stated')
  for (const one of stated) {
    const { x, y } = at(one)
    drawing.mark(one, () => {
      drawing.line(x - 4, y, x + 4, y, 'edge')
      drawing.rect({ x: x - 6, y: y - 6, width: 12, height: 12 }, 'hit')
    })
  }
  stated.forEach((one, index) => {
    const next = stated[index + 1]
    if (next === undefined) return
    // A slanted line is kept clear piece by piece, so that labels may stand in its corners.
    for (let part = 0; part < 6; part++) {
      const [from, to] = [at(between(one, next, part / 6)), at(between(one, next, (part + 1) / 6))]
      const [top, bottom] = [Math.min(from.y, to.y), Math.max(from.y, to.y)]
      drawing.keep({ x: from.x, y: top - 1, width: to.x - from.x, height: bottom - top + 2 })
    }
  })
  for (const one of taken) {
    const x = at(one).x - ASIDE
    const [top, middle, bottom] = [up(one.highV), up(one.voltageV), up(one.lowV)]
    drawing.mark(one, () => {
      drawing.path(`M${x - 3} ${top}h6M${x} ${top}V${bottom}M${x - 3} ${bottom}h6`, 'whisker')
      drawing.rect({ x: x - 2.5, y: middle - 2.5, width: 5, height: 5 }, 'square')
      drawing.rect({ x: x - 5, y: top, width: 10, height: bottom - top }, 'hit')
    })
    drawing.keep({ x: x - 4, y: top - 1, width: 8, height: bottom - top + 2 })
  }
  for (const one of given) {
    const { x, y } = at(one)
    const middle = x + ASIDE
    drawing.mark(one, () => {
      drawing.path(`M${middle - 5} ${y}L${middle} ${y - 5}L${middle + 5} ${y}L${middle} ${y + 5}Z`, 'given')
      drawing.rect({ x: middle - 6, y: y - 6, width: 12, height: 12 }, 'hit')
    })
    drawing.keep({ x: middle - 6, y: y - 6, width: 12, height: 12 })
  }
  for (const one of proposals) {
    const { x, y } = at(one)
    drawing.mark(one, () => {
      drawing.path(`M${x - 6} ${y + 5}L${x} ${y - 6}L${x + 6} ${y + 5}Z`, 'proposal')
      drawing.rect({ x: x - 7, y: y - 7, width: 14, height: 14 }, 'hit')
    })
    drawing.keep({ x: x - 7, y: y - 7, width: 14, height: 14 })
  }
  drawTrials(drawing, trials, at)
  const beside = ({ x, y }: { x: number; y: number }): Spot[] =>
    [12, 18, 26, 36, 48].flatMap((by): Spot[] => [
      { x: x + by, y: y + 4 },
      { x: x - by, y: y + 4, anchor: 'end' },
      { x: x + 4, y: y + by + 8 },
      { x: x - 4, y: y - by, anchor: 'end' },
      { x: x - 4, y: y + by + 8, anchor: 'end' },
      { x: x + 4, y: y - by },
    ])
  for (const { text, ...one } of trials) drawing.label(text, beside(at(one)), { size: 'small', class: 'main-text' })
  for (const { text, ...one } of proposals) drawing.label(text, beside(at(one)), { size: 'small', class: 'ink' })
  const named = [
    { texts: ['stated in needs'], of: stated, class: 'ink', aside: 0 },
    { texts: [data.takenText, data.takenShort], of: taken, class: 'second-text', aside: -ASIDE },
    { texts: [data.givenText], of: given, class: 'third-text', aside: ASIDE },
  ]
  for (const { texts, of, class: name, aside } of named) {
    // From the outer ends inwards, where the picture is emptiest.
    const spots = of
      .toSorted((a, b) => Math.abs(b.ratio - (least + most) / 2) - Math.abs(a.ratio - (least + most) / 2))
      .flatMap(one => beside({ x: at(one).x + aside, y: at(one).y }))
    if (of.length > 0) texts.some(text => drawing.label(text, spots, { size: 'small', class: name }))
  }
  return drawing.finish(data.title, data.figures)
}

function between(a: Placed, b: Placed, share: number): Placed {
  const mix = (from: number, to: number): number => from + (to - from) * share
  return { ...a, ratio: mix(a.ratio, b.ratio), voltageV: mix(a.voltageV, b.voltageV) }
}

/** Filled where it held, open and crossed where it stopped. */
function drawTrials(
  drawing: Drawing,
  trials: readonly TrialDot[],
  at: (one: Placed) => { readonly x: number; readonly y: number },
): void {
  for (const trial of trials) {
    const { x, y } = at(trial)
    const r = radius(trial.forS)
    drawing.mark(trial, () => {
      if (trial.end === 'held') drawing.circle(x, y, r, 'point')
      else {
        const arm = r * 0.7
        drawing.circle(x, y, r, 'ring')
        drawing.path(`M${x - arm} ${y - arm}L${x + arm} ${y + arm}M${x - arm} ${y + arm}L${x + arm} ${y - arm}`, 'stop')
      }
      drawing.rect({ x: x - r, y: y - r, width: 2 * r, height: 2 * r }, 'hit')
    })
    drawing.keep({ x: x - r - 1, y: y - r - 1, width: 2 * r + 2, height: 2 * r + 2 })
  }
}
