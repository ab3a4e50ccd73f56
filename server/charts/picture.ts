/** What a chart comes to: its drawing as SVG, the marks one can ask about, the boxes of its labels, and its figures as a table. */

/** Where in a file the line stands that decides a mark: offsets of the file's text. */
export interface MarkPlace {
  readonly uri: string
  readonly start: number
  readonly end: number
}

/** Something in the picture that says its figures when it is pointed at. */
export interface Mark {
  /** Every figure in one sentence. */
  readonly sentence: string
  readonly place?: MarkPlace | undefined
}

/** A rectangle in the picture's own units; y grows downwards. */
export interface Box {
  readonly x: number
  readonly y: number
  readonly width: number
  readonly height: number
}

export interface LabelBox extends Box {
  readonly text: string
}

/** The figures of a chart, full doubles; units stand in the head. */
export interface Figures {
  readonly head: readonly string[]
  readonly rows: readonly (readonly (string | number | null)[])[]
}

export interface Picture {
  readonly width: number
  readonly height: number
  /** What it shows, in one line; also its alternative text. */
  readonly title: string
  /** What stands between the `svg` tags, without a style sheet: see `svgFile` and `svgElement`. */
  readonly body: string
  readonly marks: readonly Mark[]
  /** Where text stands; what lies here must not overlap and must lie inside the picture. */
  readonly labels: readonly LabelBox[]
  readonly figures: Figures
}

/** How large a picture is, and what is said of it. */
export interface PictureOptions {
  readonly width: number
  readonly height: number
  /** Names within the picture begin with this, so that several can stand in one page. */
  readonly id?: string
  /** Whether a mark is decided by the line that the cursor is in. */
  readonly isHere?: (place: MarkPlace) => boolean
}

/** Whether two rectangles have more than an edge in common. */
export function overlaps(a: Box, b: Box): boolean {
  return a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height && b.y < a.y + a.height
}

/** Figures as comma-separated values (RFC 4180), numbers with all their digits. */
export function csvText({ head, rows }: Figures): string {
  const cell = (value: string | number | null): string => {
    if (value === null) return ''
    const text = String(value)
    return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text
  }
  return [head, ...rows].map(row => `${row.map(cell).join(',')}\r\n`).join('')
}
