/**
 * Symmetric positive matrices, row by row in one array: factor and triangular solutions. Ours rather than a library's:
 * they run some hundred thousand times in one fit, in place and without a new array each time.
 */

/**
 * Puts the lower triangle L of A = L Lᵀ in the place of A's; what stands above the diagonal stays.
 * @returns false where A is not positive
 */
export function factor(a: Float64Array, n: number): boolean {
  for (let i = 0; i < n; i++) {
    const row = i * n
    for (let j = 0; j <= i; j++) {
      const other = j * n
      let sum = a[row + j] as number
      for (let k = 0; k < j; k++) sum -= (a[row + k] as number) * (a[other + k] as number)
      if (i === j) {
        if (!(sum > 0)) return false
        a[row + i] = Math.sqrt(sum)
      } else a[row + j] = sum / (a[other + j] as number)
    }
  }
  return true
}

/** Puts L⁻¹ b in the place of b. */
export function solveLower(l: Float64Array, n: number, b: Float64Array): void {
  for (let i = 0; i < n; i++) {
    const row = i * n
    let sum = b[i] as number
    for (let k = 0; k < i; k++) sum -= (l[row + k] as number) * (b[k] as number)
    b[i] = sum / (l[row + i] as number)
  }
}

/** Puts L⁻ᵀ b in the place of b. */
export function solveUpper(l: Float64Array, n: number, b: Float64Array): void {
  for (let i = n - 1; i >= 0; i--) {
    let sum = b[i] as number
    for (let k = i + 1; k < n; k++) sum -= (l[k * n + i] as number) * (b[k] as number)
    b[i] = sum / (l[i * n + i] as number)
  }
}

/** A⁻¹ from its factor. */
export function inverseOf(l: Float64Array, n: number): Float64Array {
  const inverse = new Float64Array(n * n)
  const column = new Float64Array(n)
  for (let j = 0; j < n; j++) {
    column.fill(0)
    column[j] = 1
    solveLower(l, n, column)
    solveUpper(l, n, column)
    for (let i = 0; i < n; i++) inverse[i * n + j] = column[i] as number
  }
  return inverse
}
