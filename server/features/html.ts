/** Text of a person's file in a page. */

import { unbroken } from '../wording/unbroken.ts'
import { visible } from '../wording/visible.ts'

const special: Readonly<Record<string, string>> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
  "'": '&#39;',
}

/** As text of the page: no element, attribute or turn of direction comes of it. */
export function escapedHtml(text: string): string {
  return visible(text).replace(/[&<>"']/g, sign => special[sign] ?? sign)
}

/** A sentence of the page: no line of it ends between a figure and its unit. */
export function sentenceHtml(text: string): string {
  return escapedHtml(unbroken(text))
}
