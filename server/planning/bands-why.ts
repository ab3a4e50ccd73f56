/** Why bands give back as much as they do. */
import type { Failure, Link } from './types.ts'

/** The rows with one that gives a ratio-step less back; without it where that is no more than the one before gives. */
function shallower(links: readonly Link[], index: number, ratioStep: number): readonly Link[] {
  const { aboveC, drop } = links[index] as Link
  const less = Number((drop - ratioStep).toFixed(9))
  const isLeftOut = less <= (links[index - 1]?.drop ?? 0) + 1e-9
  return links.flatMap((link, at) => (at !== index ? [link] : isLeftOut ? [] : [{ aboveC, drop: less }]))
}

/** Of each row what fails where it gives a ratio-step less back; undefined where nothing does. */
export function* whyDrops(
  links: readonly Link[],
  ratioStep: number,
  failing: (links: readonly Link[]) => Generator<undefined, Failure | undefined>,
): Generator<undefined, readonly (Failure | undefined)[]> {
  const found: (Failure | undefined)[] = []
  for (const index of links.keys()) found.push(yield* failing(shallower(links, index, ratioStep)))
  return found
}
