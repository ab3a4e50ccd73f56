/** Times for people. */

import { plain } from './figures.ts'

/** `7 min 12 s`, `2 h 5 min`; seconds with a decimal only below ten. Cut to the second, so that what lasts is never said longer. */
export function durationText(seconds: number): string {
  if (seconds < 10) return `${plain(Number(seconds.toFixed(1)))} s`
  const whole = Math.floor(seconds)
  const parts = [
    [Math.floor(whole / 3600), 'h'],
    [Math.floor(whole / 60) % 60, 'min'],
    [whole % 60, 's'],
  ] as const
  return parts
    .filter(([count]) => count > 0)
    .map(([count, unit]) => `${count} ${unit}`)
    .join(' ')
}

/** `40 s`, `6 min`: as well as anybody can wait by it. */
export function waitText(seconds: number): string {
  return seconds < 90 ? `${Math.max(10, Math.round(seconds / 10) * 10)} s` : `${Math.round(seconds / 60)} min`
}

/** `7:12`: minutes and seconds, for a column; cut to the second as durations are. */
export function clockTime(seconds: number): string {
  // Sums of ticks may fall short of a whole second by a rounding error.
  const whole = Math.floor(seconds + 1e-6)
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, '0')}`
}
