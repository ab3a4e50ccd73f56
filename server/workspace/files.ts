/** All reading of files goes through this, so that tests run in memory and the web build through the client. */
export interface FileSystem {
  /** The bytes of a file; undefined where there is none, and why where it is not read. Never throws. */
  read(uri: string): Promise<Uint8Array | Unread | undefined>
}

/** A file that is there and is not read. */
export interface Unread {
  /** In words that go on a sentence: `permission denied`. */
  readonly why: string
}

/** Of one file of the language, in bytes. The largest that people write have some hundred kilobytes. */
export const mostSourceBytes = 16 * 1024 * 1024

/** Why a file is too large, in words. */
export function tooLarge(bytes: number | undefined): string {
  const most = mostSourceBytes / 1024 / 1024
  const has = bytes === undefined ? `more than ${most}` : String(Math.ceil(bytes / 1024 / 1024))
  return `it has ${has} MB, and ${most} MB are the most`
}

/** Whether a path names a place on another machine, or one of Windows' own devices, as both of its spellings can. */
export function isNetworkPath(path: string): boolean {
  return /^[\\/]{2}/.test(path)
}

/** A file's text, and where it stopped being valid UTF-8. */
export interface Decoded {
  readonly text: string
  /** Offset of the first byte sequence that is not UTF-8; the replacement character stands there. */
  readonly invalidAt: number | undefined
}

/** Decodes UTF-8; a byte order mark is dropped. */
export function decode(bytes: Uint8Array): Decoded {
  try {
    return { text: new TextDecoder('utf-8', { fatal: true }).decode(bytes), invalidAt: undefined }
  } catch {
    const text = new TextDecoder('utf-8').decode(bytes)
    return { text, invalidAt: Math.max(0, text.indexOf('\ufffd')) }
  }
}

/** The address of a file named relative to another. Works for any hierarchical scheme. */
export function resolveUri(from: string, path: string): string | undefined {
  try {
    return normalizeUri(new URL(path.replaceAll('\\', '/').split('/').map(encodeURIComponent).join('/'), from).href)
  } catch {
    return undefined
  }
}

/** The last part of an address, as a person reads it. */
export function fileName(uri: string): string {
  const last = uri.slice(uri.lastIndexOf('/') + 1)
  try {
    return decodeURIComponent(last)
  } catch {
    return last
  }
}

/** One spelling of an address, so that the same file is never held twice. */
export function normalizeUri(uri: string): string {
  if (!uri.includes('://')) return uri
  try {
    return uri
      .split('/')
      .map((part, index) => (index < 3 ? part : encodeURIComponent(decodeURIComponent(part))))
      .join('/')
  } catch {
    return uri
  }
}
