/** Text of a person's file in a page. */

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
