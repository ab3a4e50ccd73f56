import { findUnit, toBase, type Unit } from '../../grammar/units/units.ts'
import type { DecimalMark } from './runs.ts'

/** Cells of a log as numbers. */

/** What loggers write where a sensor gave nothing. */
const nothing = new Set(['', '-', '--', 'n/a', 'na', 'nan', 'null', 'none', '?'])

export function isNothing(cell: string): boolean {
  return cell === '' || nothing.has(cell.trim().toLowerCase())
}

const plain = /^\s*[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?\s*$/

const powersOfTen = [1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15]

/**
 * Digits with at most one mark among them, which nearly every cell of a log is; NaN for anything else. Up to 15 digits
 * a whole number and a power of ten are exact, and so their quotient is the nearest double.
 */
function simpleNumber(cell: string, mark: number): number {
  const { length } = cell
  if (length === 0 || length > 15) return Number.NaN
  let digits = 0
  let behind = -1
  for (let at = 0; at < length; at++) {
    const code = cell.charCodeAt(at)
    if (code >= 48 && code <= 57) digits = digits * 10 + code - 48
    else if (code === mark && behind < 0 && at > 0) behind = length - at - 1
    else return Number.NaN
  }
  return behind > 0 ? digits / (powersOfTen[behind] as number) : digits
}

/** A number with this decimal mark; NaN for anything else. */
export function numberIn(cell: string, decimal: DecimalMark): number {
  const simple = simpleNumber(cell, decimal === ',' ? 44 : 46)
  if (!Number.isNaN(simple)) return simple
  if (!plain.test(cell)) return Number.NaN
  if (decimal === ',') return cell.includes('.') ? Number.NaN : Number(cell.replace(',', '.'))
  return cell.includes(',') ? Number.NaN : Number(cell)
}

const withUnit = /^\s*([+-]?[\d.,]+)\s*([^\d\s].*?)\s*$/

/**
 * A cell in the base unit of the column's unit. A cell that carries a unit of its own is read in that one.
 * NaN for what is no such number.
 */
export function valueIn(cell: string, unit: Unit, decimal: DecimalMark): number {
  const number = numberIn(cell, decimal)
  if (!Number.isNaN(number)) return toBase(number, unit)
  const parts = withUnit.exec(cell)
  const own = parts === null ? undefined : findUnit(parts[2] as string)
  if (own === undefined || own.dimension !== unit.dimension) return Number.NaN
  return toBase(numberIn(parts?.[1] as string, decimal), own)
}

const clockTime = /(?:^|[\sT])(\d{1,2}):(\d{2}):(\d{2}(?:[.,]\d+)?)\s*(?:Z|[+-]\d{2}:?\d{2})?\s*$/

/** Seconds since midnight of a time of day, with or without a date before it; NaN for anything else. */
export function timeOfDay(cell: string): number {
  const parts = clockTime.exec(cell)
  if (parts === null) return Number.NaN
  return Number(parts[1]) * 3600 + Number(parts[2]) * 60 + Number((parts[3] as string).replace(',', '.'))
}
