/** Work in slices: what takes longer than a few milliseconds, and where it may pause. */

/** What work in slices comes to, done at once. */
export function finished<T>(slices: Generator<undefined, T>): T {
  for (;;) {
    const { done, value } = slices.next()
    if (done === true) return value
  }
}

/**
 * Work in slices for several who ask for it, one behind the other or by turns: each goes on where the work stands, so that
 * what one has left, because an edit came in between, is not begun again by the next.
 */
export function resumable<T>(work: Generator<undefined, T>): () => Generator<undefined, T> {
  let end: { readonly value: T } | { readonly error: unknown } | undefined
  const goOn = (): typeof end => {
    try {
      const { done, value } = work.next()
      return done === true ? { value } : undefined
    } catch (error) {
      return { error }
    }
  }
  return function* () {
    while (end === undefined) {
      end = goOn()
      if (end === undefined) yield
    }
    if ('error' in end) throw end.error
    return end.value
  }
}
