/** Colour for people: only on a terminal, never where `NO_COLOR` is set (no-color.org). */

import { control, type Io, type Output } from './io.ts'

export type Colour = 'bold' | 'dim' | 'red' | 'yellow' | 'blue' | 'green'

const codes: Readonly<Record<Colour, readonly [number, number]>> = {
  bold: [1, 22],
  dim: [2, 22],
  red: [31, 39],
  yellow: [33, 39],
  blue: [34, 39],
  green: [32, 39],
}

/** Gives a text a colour, or leaves it as it is where the output takes none. */
export type Paint = (colour: Colour, text: string) => string

export function paintFor(io: Io, output: Output): Paint {
  const coloured = output.isTerminal && !io.env.NO_COLOR && io.env.TERM !== 'dumb'
  return (colour, text) => {
    const [on, off] = codes[colour]
    return coloured ? `${control(`\u001b[${on}m`)}${text}${control(`\u001b[${off}m`)}` : text
  }
}

/** The line above what is said of something: its name, and where it stands. */
export function headText(paint: Paint, name: string, place: string): string {
  return `${paint('bold', name)}  ${paint('dim', place)}\n`
}
