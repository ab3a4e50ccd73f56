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
