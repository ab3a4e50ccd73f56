/** How many of many like cases a test takes: a part of them in every run, all of them where the whole is asked for. */

/** Whether everything is asked for: `npm run test:whole`. */
export const isWhole = process.env.DETENT_WHOLE === '1'

/**
 * The number of cases of a test. The usual one still finds what breaks the rule at large; what is rare is found by all.
 * @param variable of the environment, which asks for any number
 */
export function sampled(
  variable: string,
  { usual, whole }: { readonly usual: number; readonly whole: number },
): number {
  return Number(process.env[variable] ?? (isWhole ? whole : usual))
}

/** The least that a usual run must reach of something, where the whole must reach `least`. */
export function leastOf(least: number, share: number): number {
  return isWhole ? least : Math.max(1, Math.floor(least * share))
}
