/** What a message quotes of a file, short enough for what is said of it to be read. */

/** Names, lines and paths of a bench are shorter. */
const longest = 60

/** A text that is longer than `most` characters by its beginning and end. */
export function inShort(text: string, most: number): string {
  if (text.length <= most) return text
  // Characters, not halves of them.
  const beginning = [...text.slice(0, most)].slice(0, Math.floor(most / 2)).join('')
  const end = [...text.slice(-most)].slice(-Math.floor(most / 3)).join('')
  return `${beginning}…${end}`
}

/** A message in which whatever stands between backquotes is quoted in short where it is very long. */
export function withShortQuotes(message: string): string {
  return message.length <= longest
    ? message
    : message.replace(/`[^`]*`/g, quote =>
        quote.length <= longest + 2 ? quote : `\`${inShort(quote.slice(1, -1), 30)}\``,
      )
}
