/** What can be wrong with a drawn chart, for the tests of all charts. */

import { type Box, type LabelBox, overlaps, type Picture } from '../../server/charts/picture.ts'

interface Stroke {
  readonly name: string
  readonly from: readonly [x: number, y: number]
  readonly to: readonly [x: number, y: number]
}

/** Lines that no label may cross, and thin ones that end beside the letters of a label over them. */
const firm = /^(?:edge|limit|cap|main|second|third|made-1|stated|joined|passed)$/
const thin = /^(?:axis|thin|event|moved|level|wet-line)$/

/** All straight strokes of lines and paths; the charts draw no others. */
function strokesOf(body: string): readonly Stroke[] {
  const strokes: Stroke[] = []
  const ends = /<line class="([^"]*)" x1="([^"]*)" y1="([^"]*)" x2="([^"]*)" y2="([^"]*)"\/>/g
  for (const [, name = '', x1, y1, x2, y2] of body.matchAll(ends))
    strokes.push({ name, from: [Number(x1), Number(y1)], to: [Number(x2), Number(y2)] })
  for (const [, name = '', d = ''] of body.matchAll(/<path class="([^"]*)" d="([^"]*)"/g)) {
    let at: readonly [number, number] = [0, 0]
    for (const [, letter, numbers = ''] of d.matchAll(/([MLHV])([^A-Za-z]*)/g)) {
      const [first = 0, second = 0] = numbers.split(/[ ,]/).flatMap(one => (one === '' ? [] : [Number(one)]))
      const to =
        letter === 'H'
          ? ([first, at[1]] as const)
          : letter === 'V'
            ? ([at[0], first] as const)
            : ([first, second] as const)
      if (letter !== 'M') strokes.push({ name, from: at, to })
      at = to
    }
  }
  return strokes.map(stroke => ({ ...stroke, name: stroke.name.split(' ')[0] ?? '' }))
}

/** Whether a stroke passes through a rectangle: it is cut at each side in turn (Liang and Barsky 1984, doi:10.1145/357332.357333). */
function crosses({ from: [x1, y1], to: [x2, y2] }: Stroke, { x, y, width, height }: Box): boolean {
  let [enters, leaves] = [0, 1]
  const sides = [
    [x1 - x2, x1 - x],
    [x2 - x1, x + width - x1],
    [y1 - y2, y1 - y],
    [y2 - y1, y + height - y1],
  ] as const
  for (const [step, room] of sides) {
    if (step === 0 && room < 0) return false
    if (step < 0) enters = Math.max(enters, room / step)
    if (step > 0) leaves = Math.min(leaves, room / step)
  }
  return enters < leaves
}

/** Labels that are struck through by a line or a point; a thin line may pass behind one that has an edge of the paper's colour. */
function struckLabels({ body, labels }: Picture): readonly string[] {
  const strokes = strokesOf(body)
  const round = /<circle class="(?:point|hollow|ring)" cx="([^"]*)" cy="([^"]*)" r="([^"]*)"/g
  const circles = [...body.matchAll(round)].map(([, cx, cy, r]): Box => {
    const [x, y, radius] = [Number(cx), Number(cy), Number(r)]
    return { x: x - radius, y: y - radius, width: 2 * radius, height: 2 * radius }
  })
  const classes = [...body.matchAll(/<text class="([^"]*)"/g)].map(([, name = '']) => name)
  return labels.flatMap((label, index): readonly string[] => {
    // Widths are reckoned for the widest letters; above and below them there is room.
    const { x, y, width, height } = label
    const letters: LabelBox = { ...label, x: x + width * 0.06, width: width * 0.88, y: y + 1, height: height - 2.5 }
    const isOver = classes[index]?.includes('over') === true
    const through = strokes.filter(
      one => (firm.test(one.name) || (thin.test(one.name) && !isOver)) && crosses(one, letters),
    )
    const struck = [...new Set(through.map(({ name }) => name))].map(name => `${name} through: ${label.text}`)
    return circles.some(circle => overlaps(circle, letters)) ? [...struck, `a point on: ${label.text}`] : struck
  })
}

/** What is wrong with a picture, one line each: labels over each other, over a line or over the edge, what is not a number. */
export function pictureFaults(picture: Picture): readonly string[] {
  const { labels, width, height, body, title } = picture
  const faults: string[] = [...struckLabels(picture)]
  for (const [index, one] of labels.entries()) {
    if (one.x < 0 || one.y < 0 || one.x + one.width > width || one.y + one.height > height)
      faults.push(`cut: ${one.text}`)
    for (const other of labels.slice(index + 1))
      if (overlaps(one, other)) faults.push(`overlap: ${one.text} | ${other.text}`)
    if (one.text.trim() === '') faults.push('an empty label')
  }
  if (/NaN|Infinity|undefined|null/.test(body)) faults.push('no number')
  if (title.trim() === '') faults.push('no title')
  return faults
}
