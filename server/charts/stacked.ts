/** Several charts of one kind as one picture, one below the other: those of each group of cores. */
import type { Picture } from './picture.ts'

const GAP = 12

/**
 * Puts pictures below each other; their figures become one table, whose head is that of the first.
 * @param pictures drawn with names of their own within the page; at least one
 */
export function stacked(pictures: readonly [Picture, ...Picture[]]): Picture {
  const [first, ...others] = pictures
  if (others.length === 0) return first
  const tops: number[] = []
  let [height, marks] = [0, 0]
  const bodies = pictures.map(picture => {
    tops.push(height)
    const from = marks
    const body = picture.body.replace(/ data-mark="(\d{1,6})"/g, (_, index) => ` data-mark="${from + Number(index)}"`)
    const moved = `<g transform="translate(0 ${height})">${body}</g>`
    height += picture.height + GAP
    marks += picture.marks.length
    return moved
  })
  return {
    width: Math.max(...pictures.map(({ width }) => width)),
    height: height - GAP,
    title: pictures.map(({ title }) => title).join('; '),
    body: bodies.join(''),
    marks: pictures.flatMap(picture => picture.marks),
    labels: pictures.flatMap(({ labels }, index) =>
      labels.map(box => ({ ...box, y: box.y + (tops[index] as number) })),
    ),
    figures: { head: first.figures.head, rows: pictures.flatMap(({ figures }) => figures.rows) },
  }
}
