/**
 * Characters that act where they are shown, as text that shows them: control characters, which a terminal obeys, and those
 * that turn the direction of what stands around them, which makes a text read as another.
 */

/** Line feeds and tabs stay, and so does a carriage return that ends a line. */
const acting = new RegExp(
  [
    // C0 and C1 (ECMA-48), DEL.
    '[\\u0000-\\u0008\\u000b\\u000c\\u000e-\\u001f\\u007f-\\u009f]',
    '\\r(?!\\n)',
    // Marks, embeddings, overrides and isolates of direction (Unicode UAX 9), and line ends of Unicode's own.
    '[\\u061c\\u200e\\u200f\\u2028-\\u202e\\u2066-\\u2069]',
    // Annotations between lines; tags, which are never seen.
    '[\\ufff9-\\ufffb]',
    '\\u{e0001}|[\\u{e0020}-\\u{e007f}]',
  ].join('|'),
  'gu',
)

/** The text with each of them as `\u202e`, which in JSON is still the same text. */
export function visible(text: string): string {
  return text.replace(acting, found =>
    [...Array(found.length).keys()].map(at => `\\u${found.charCodeAt(at).toString(16).padStart(4, '0')}`).join(''),
  )
}
