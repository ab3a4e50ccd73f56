/** Numbers of things, and lists of them. */

/** `1 file`, `3 files`. */
export function counted(count: number, one: string, many = `${one}s`): string {
  return `${count} ${count === 1 ? one : many}`
}

/** `1 core`, `3 cores`, `3 to 6 cores`: also as a row of a table writes them. */
export function coresText(from: number, to = from): string {
  return from === to ? counted(from, 'core') : `${from} to ${to} cores`
}

/** `3 active cores`, or `3 to 5 active cores`. */
export function activeCoresText(from: number, to = from): string {
  return from === to ? counted(from, 'active core') : `${from} to ${to} active cores`
}

/**
 * `3 cores of broad and 2 of small`: the groups that are at work.
 * @param first how the count of the first one is worded
 */
export function busyGroupsText(
  groups: readonly { readonly group: string; readonly cores: number }[],
  first: (cores: number) => string = coresText,
): string {
  const busy = groups.filter(({ cores }) => cores > 0)
  return listed(busy.map(({ group, cores }, index) => `${index === 0 ? first(cores) : cores} of ${group}`))
}

/** `a`, `b` and `c`. */
export function listed(words: readonly string[], joint = 'and'): string {
  return words.length < 2 ? words.join('') : `${words.slice(0, -1).join(', ')} ${joint} ${words.at(-1)}`
}

/** Words of the language in a list, each as code. */
export function quotedList(words: readonly string[], joint = 'and'): string {
  return listed(
    words.map(word => `\`${word}\``),
    joint,
  )
}
