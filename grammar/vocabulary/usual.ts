/**
 * The range in which each figure of a bench usually lies. Wide on purpose: from the smallest part under a fan to the
 * largest under a chiller, with room on both sides. What lies outside is a slip far more often than a bench, most of all
 * of the unit, and has one finding. Zero is never outside: where it may stand at all, it means that there is none.
 *
 * Every range is engineering judgement, no source, but for those whose row says otherwise.
 */

import { findUnit, toBase, type Unit } from '../units/units.ts'
import type { Place, Usual } from './types.ts'

const judgement = 'engineering judgement, no source'
const bismuthTelluride =
  'bismuth telluride: about 68 K a stage, some 130 K for stacks of stages; engineering judgement, no source'

type Row = readonly [where: string, slot: string, low: string, high: string, source?: string]

const rows: readonly Row[] = [
  ['part reference', 'value', '10 MHz', '500 MHz'],
  ['part core-voltage', 'value', '0.2 V', '2.5 V'],
  ['part die-limit', 'value', '40 °C', '150 °C'],
  ['part trip', 'value', '40 °C', '200 °C'],
  ['needs', 'voltage', '0.3 V', '2 V'],
  ['part needs-at', 'value', '-60 °C', '120 °C'],
  ['known', 'clock', '50 MHz', '12 GHz'],
  ['known', 'voltage', '0.3 V', '2 V'],
  ['known', 'power', '0.1 W', '3000 W'],
  ['known', 'die', '-60 °C', '150 °C'],
  ['known', 'coolant', '-60 °C', '100 °C'],
  ['known', 'plate', '-60 °C', '120 °C'],
  ['part needs-slope', 'value', '10 µV/K', '5 mV/K'],
  ['part vector-needs', 'value', '0.1 mV', '300 mV'],
  ['part switching', 'value', '0.05 nF', '50 nF'],
  ['part leakage', 'power', '0.05 W', '500 W'],
  ['part leakage', 'voltage', '0.3 V', '2 V'],
  ['part leakage', 'temperature', '-60 °C', '150 °C'],
  ['part leakage-doubling', 'value', '5 K', '120 K'],
  ['part shared-power', 'value', '0.1 W', '400 W'],
  ['part idle-power', 'value', '0.1 W', '400 W'],
  ['part package-resistance', 'value', '0.005 K/W', '5 K/W'],
  ['part core-resistance', 'value', '0.005 K/W', '10 K/W'],
  ['part die-heat', 'value', '0.5 J/K', '1000 J/K'],
  ['cooler block-resistance', 'value', '0.001 K/W', '5 K/W'],
  ['radiator', 'resistance', '0.003 K/W', '5 K/W'],
  ['cooler rating', 'value', '5 W', '5000 W'],
  ['cooler plate-heat', 'value', '2 J/K', '20000 J/K'],
  ['cooler coolant-heat', 'value', '10 J/K', '500000 J/K'],
  ['cooler coolant', 'value', '-80 °C', '60 °C'],
  ['cooler capacity', 'value', '5 W', '20000 W'],
  ['cooler beyond', 'value', '0.001 K/W', '5 K/W'],
  ['cooler drive-current', 'value', '0.1 A', '60 A'],
  ['cooler leads', 'value', '0.1 mΩ', '2 Ω'],
  ['cooler supply-limit', 'value', '0.1 A', '300 A'],
  ['cooler plate-leak', 'value', '0.01 W/K', '20 W/K'],
  ['module at', 'value', '-20 °C', '120 °C'],
  ['module current', 'value', '0.1 A', '60 A'],
  ['module voltage', 'value', '0.5 V', '80 V'],
  ['module heat', 'value', '0.5 W', '1000 W'],
  ['module difference', 'value', '30 K', '140 K', bismuthTelluride],
  ['module seebeck', 'value', '1 mV/K', '500 mV/K'],
  ['module resistance', 'value', '5 mΩ', '50 Ω'],
  ['module conductance', 'value', '0.01 W/K', '30 W/K'],
  ['module constants-at', 'value', '-60 °C', '120 °C'],
  ['board core-voltage-step', 'value', '0.1 mV', '100 mV'],
  ['board load-line', 'value', '5 µΩ', '20 mΩ'],
  ['board supply', 'value', '30 W', '5000 W'],
  ['board other-power', 'value', '0.5 W', '3000 W'],
  ['bands', 'above', '-60 °C', '150 °C'],
  ['profile bands', 'return', '0.1 K', '60 K'],
  ['voltage core', 'offset', '0.1 mV', '400 mV'],
  ['voltage core', 'fixed', '0.3 V', '2 V'],
  ['voltage set', 'voltage', '0.3 V', '2 V'],
  ['limits die', 'value', '10 °C', '150 °C'],
  ['limits sustained-power', 'value', '1 W', '3000 W'],
  ['limits sustained-power', 'over', '50 ms', '3600 s'],
  ['limits burst-power', 'value', '1 W', '5000 W'],
  ['limits current', 'value', '1 A', '5000 A'],
  ['profile drive', 'margin', '0.1 K', '40 K'],
  ['profile drive', 'fixed', '0.05 A', '60 A'],
  ['profile drive', 'supply', '0.2 V', '400 V'],
  ['profile drive', 'pulsed', '1 %', '100 %'],
  ['fan', 'coolant', '-60 °C', '120 °C'],
  ['profile expect', 'clock', '50 MHz', '12 GHz'],
  ['profile expect', 'voltage', '0.2 V', '2.5 V'],
  ['profile expect', 'current', '0.1 A', '5000 A'],
  ['profile expect', 'power', '0.1 W', '10000 W'],
]

function inBase(text: string): { value: number; unit: Unit } {
  const [number = '', symbol = ''] = text.split(' ')
  const unit = findUnit(symbol)
  if (unit === undefined) throw new Error(`The usual range ${text} has no unit`)
  return { value: toBase(Number(number), unit), unit }
}

/** The usual ranges of the values of a word, by the name of the slot. */
export function usualOf(place: Place, word: string): Readonly<Record<string, Usual>> {
  const where = word === '' ? place : `${place} ${word}`
  return Object.fromEntries(
    rows
      .filter(([own]) => own === where)
      .map(([, slot, low, high, source = judgement]) => {
        const [from, to] = [inBase(low), inBase(high)]
        return [slot, { low: from.value, high: to.value, text: `${low} to ${high}`, source }]
      }),
  )
}

/**
 * Every row: the tests look over the table as a whole, to see that each names a slot.
 * @public
 */
export const usualRows: readonly { readonly where: string; readonly slot: string }[] = rows.map(([where, slot]) => ({
  where,
  slot,
}))
