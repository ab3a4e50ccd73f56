/** Profiles of long files beyond what a person sees: predicted while nobody waits for anything else. */

import { turn } from './turns.ts'

export interface Further {
  /** Not all of a file is predicted: the rest is made, and what it changes is shown once. */
  wake(uri: string): void
}

/**
 * @param make makes the rest of a file; false where nobody waits for it any more
 * @param made called once it is made
 * @param failed called where that goes wrong
 */
export function createFurther(
  make: (uri: string) => Promise<boolean>,
  made: (uri: string) => void,
  failed: (error: unknown) => void,
): Further {
  const going = new Set<string>()
  const work = async (uri: string): Promise<void> => {
    try {
      // Whoever wakes it is about to answer.
      await turn('folders')
      const isMade = await make(uri)
      going.delete(uri)
      if (isMade) made(uri)
    } catch (error) {
      going.delete(uri)
      failed(error)
    }
  }
  return {
    wake: uri => {
      if (going.has(uri)) return
      going.add(uri)
      void work(uri)
    },
  }
}
