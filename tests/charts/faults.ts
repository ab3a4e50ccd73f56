/** What can be wrong with a drawn chart, for the tests of all charts. */

import { overlaps, type Picture } from '../../server/charts/picture.ts'

/** What is wrong with a picture, one line each: labels over each other or over the edge, what is not a number. */
export function pictureFaults({ labels, width, height, body, title }: Picture): readonly string[] {
  const faults: string[] = []
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
