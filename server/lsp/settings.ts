/** The settings of a file, checked. */

import type { Severities } from '../checks/run.ts'

/** The settings of a file, checked: what does not have the form of a setting counts as not set. */
export interface Settings {
  readonly severities: Severities
  readonly predictedClockHints: boolean
  readonly dewPointHints: boolean
  readonly expectationLenses: boolean
  readonly resolvedProfileLenses: boolean
  readonly trialLenses: boolean
  readonly sinceLenses: boolean
  readonly chartLenses: boolean
}

const severityWords = ['error', 'warning', 'information', 'hint', 'off'] as const

function record(value: unknown): Readonly<Record<string, unknown>> {
  return typeof value === 'object' && value !== null ? (value as Record<string, unknown>) : {}
}

/** @param section the value of the section `detent` */
export function readSettings(section: unknown): Settings {
  const severity = record(record(record(section).checks).severity)
  const severities: Record<string, Severities[string]> = {}
  for (const [code, value] of Object.entries(severity)) {
    const word = severityWords.find(one => one === value)
    if (word !== undefined) severities[code] = word
  }
  // Only a plain `false` turns something off: anything else is no setting of ours.
  const on = (area: string, option: string): boolean => record(record(section)[area])[option] !== false
  return {
    severities,
    predictedClockHints: on('inlayHints', 'predictedClock'),
    dewPointHints: on('inlayHints', 'dewPoint'),
    expectationLenses: on('codeLens', 'expectations'),
    resolvedProfileLenses: on('codeLens', 'resolvedProfile'),
    trialLenses: on('codeLens', 'trials'),
    sinceLenses: on('codeLens', 'since'),
    chartLenses: on('codeLens', 'charts'),
  }
}
