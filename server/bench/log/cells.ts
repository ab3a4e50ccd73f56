/** Cells of a log as numbers. */

import { findUnit, toBase, type Unit } from '../../../grammar/units/units.ts'
import type { DecimalMark } from './mapping.ts'

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

/** Beyond any reading in any unit, and far enough from the largest double for sums, squares and other units. */
const LARGEST = 1e30

/** A number with this decimal mark; NaN for anything else, and for what no sensor reads. */
export function numberIn(cell: string, decimal: DecimalMark): number {
  const simple = simpleNumber(cell, decimal === ',' ? 44 : 46)
  if (!Number.isNaN(simple)) return simple
  if (!plain.test(cell) || cell.includes(decimal === ',' ? '.' : ',')) return Number.NaN
  const number = Number(cell.replace(',', '.'))
  return Math.abs(number) <= LARGEST ? number : Number.NaN
}

const withUnit = /^([+-]?[\d.,]+)\s*([^\d\s.,].*)$/

/**
 * A cell in the base unit of the column's unit. A cell that carries a unit of its own is read in that one.
 * NaN for what is no such number.
 */
export function valueIn(cell: string, unit: Unit, decimal: DecimalMark): number {
  const number = numberIn(cell, decimal)
  if (!Number.isNaN(number)) return toBase(number, unit)
  const parts = withUnit.exec(cell.trim())
  const own = parts === null ? undefined : findUnit(parts[2] as string)
  if (own === undefined || own.dimension !== unit.dimension) return Number.NaN
  return toBase(numberIn(parts?.[1] as string, decimal), own)
}

/** From the hours to the end. */
const stamp = /^(\d{1,4}):(\d{2})(?::(\d{2}))?([.,]\d+)?(?:\s*([ap])\.?m\.?)?(?:\s*(Z|UTC|[+-]\d{2}:?\d{2}))?$/i

const isDigit = (text: string, at: number): boolean => text.charCodeAt(at) >= 48 && text.charCodeAt(at) <= 57

/** The date before the first time of day in a cell, and what stands from that time on; undefined where there is none. */
function dateAndTime(cell: string): readonly [date: string, time: string] | undefined {
  const text = cell.trim()
  let start = text.indexOf(':')
  while (start > 0 && isDigit(text, start - 1)) start--
  if (start <= 0) return start === 0 ? ['', text] : undefined
  let end = start
  while (end > 0 && /[\sT,]/i.test(text.charAt(end - 1))) end--
  if (end === start || !isDigit(text, end - 1)) return undefined
  return [text.slice(0, end), text.slice(start)]
}

/** A time as loggers write it. */
export interface TimeStamp {
  /** Since midnight, or since the logger began. */
  readonly seconds: number
  /** As it stands before the time; empty where none does. */
  readonly date: string
  /** How far the time is ahead of UTC, where it says so; else 0. */
  readonly aheadS: number
  /** After so long it begins again; 0 where a date says which day it is. */
  readonly wrapS: number
}

/**
 * A time of day, with or without a date before it; or hours, minutes and seconds since the beginning, with
 * any number of hours. Two numbers alone are minutes and seconds. Undefined for anything else.
 */
export function timeStamp(cell: string): TimeStamp | undefined {
  const [date, time] = dateAndTime(cell) ?? ['', '']
  const parts = stamp.exec(time)
  if (parts === null) return undefined
  const [, first = '', second = '', third, fraction = '', half, zone] = parts
  const isOfDay = date !== '' || half !== undefined
  const isShort = third === undefined && !isOfDay
  const [hours, minutes, whole] = (isShort ? [0, first, second] : [first, second, third ?? 0]).map(Number) as [
    number,
    number,
    number,
  ]
  if (whole > 60 || (minutes > 59 && !isShort) || (isOfDay && hours > 23)) return undefined
  const hour = half === undefined ? hours : (hours % 12) + (half.toLowerCase() === 'p' ? 12 : 0)
  const ahead = /^([+-])(\d{2}):?(\d{2})$/.exec(zone ?? '')
  return {
    seconds: hour * 3600 + minutes * 60 + whole + Number(fraction.replace(',', '.')),
    date,
    aheadS: ahead === null ? 0 : Number(`${ahead[1]}1`) * (Number(ahead[2]) * 3600 + Number(ahead[3]) * 60),
    wrapS: date !== '' ? 0 : isShort ? 3600 : 86_400,
  }
}

const numericDate = /(\d{1,4})[-./](\d{1,2})[-./](\d{1,4})/
type DateOrder = 'day-first' | 'month-first'

/** Days since 1970; NaN where that is no date in this order. */
function daysOf(date: string, order: DateOrder): number {
  const parts = numericDate.exec(date)
  // With the month's name.
  if (parts === null) return Math.floor(Date.parse(`${date} UTC`) / 86_400_000)
  const [a, b, c] = parts.slice(1).map(Number) as [number, number, number]
  const isYearFirst = parts[1]?.length === 4
  const [year, month, day] = isYearFirst ? [a, b, c] : order === 'day-first' ? [c, b, a] : [c, a, b]
  return month > 12 || day > 31 ? Number.NaN : Date.UTC(year, month - 1, day) / 86_400_000
}

/**
 * Days since the first date of a log; NaN for what is no date. Whether the day or the month stands first shows where the
 * date changes: the next date is the nearer one.
 */
export function createDays(): (date: string) => number {
  let orders: readonly DateOrder[] = ['day-first', 'month-first']
  let last = ''
  let day = 0
  return date => {
    if (date === last || date === '') return day
    const found = orders
      .map(order => ({ order, by: daysOf(date, order) - daysOf(last === '' ? date : last, order) }))
      .filter(({ by }) => !Number.isNaN(by))
      .toSorted((a, b) => Number(a.by < 0) - Number(b.by < 0) || Math.abs(a.by) - Math.abs(b.by))
    const [best] = found
    if (best === undefined) return Number.NaN
    if (found.length < orders.length || found.some(({ by }) => by !== best.by)) orders = [best.order]
    last = date
    day += best.by
    return day
  }
}
