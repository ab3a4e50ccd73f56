/** What work in slices comes to, done at once. */
export function finished<T>(slices: Generator<undefined, T>): T {
  for (;;) {
    const { done, value } = slices.next()
    if (done === true) return value
  }
}
