/** Work done once for an object and kept as long as the object lives. */

/**
 * Makes a function whose answer is worked out the first time an object is given and then kept. What is kept is evicted
 * with the object, so it may rest on that object alone.
 */
export function onceFor<K extends object, V>(make: (key: K) => V): (key: K) => V {
  const kept = new WeakMap<K, V>()
  return key => {
    const known = kept.get(key)
    if (known !== undefined || kept.has(key)) return known as V
    const made = make(key)
    kept.set(key, made)
    return made
  }
}

/** Work kept for an object as long as the object lives, and given back while all else that it rests on is the very same. */
export interface Kept<K extends object, V> {
  /** What was made from the same before. */
  readonly of: (key: K, rests: readonly unknown[]) => V | undefined
  /** Keeps what was made in place of what was made before, and gives it back. */
  readonly keep: (key: K, rests: readonly unknown[], made: V) => V
}

/** What is kept is evicted with its object. */
export function keptWhile<K extends object, V>(): Kept<K, V> {
  const kept = new WeakMap<K, { readonly rests: readonly unknown[]; readonly made: V }>()
  return {
    of: (key, rests) => {
      const known = kept.get(key)
      const isSame = known?.rests.length === rests.length && known.rests.every((one, index) => one === rests[index])
      return isSame ? known.made : undefined
    },
    keep: (key, rests, made) => {
      kept.set(key, { rests, made })
      return made
    },
  }
}
