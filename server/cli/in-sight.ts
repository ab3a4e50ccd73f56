/** Work that may take long, with a line at the terminal that says so. */
import { control, type Io } from './io.ts'

/**
 * Takes work to its end; from the first second on a person at the terminal sees that it goes on.
 * @param what is being done
 */
export function finishedInSight<T>(io: Io, what: string, slices: Generator<undefined, T>): T {
  const began = performance.now()
  let told = 0
  try {
    for (;;) {
      const { done, value } = slices.next()
      if (done === true) return value
      const seconds = Math.floor((performance.now() - began) / 1000)
      if (!io.err.isTerminal || seconds <= told) continue
      told = seconds
      io.err.write(`${control('\r')}${what}, ${seconds} s `)
    }
  } finally {
    if (told > 0) io.err.write(control('\r\u001b[K'))
  }
}
