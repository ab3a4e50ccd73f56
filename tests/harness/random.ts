/** Seeded normal numbers for tests that draw their own data. */
import { seededUniform } from '../../server/model/random.ts'

/** Standard normal numbers after Box and Muller, one from each pair of uniform ones. */
export function seededNormal(seed: number): () => number {
  const uniform = seededUniform(seed)
  return () => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform())
}
