/** The package's version. */

import { readFileSync } from 'node:fs'

/** The package's version, from the nearest manifest above this file: the bundle lies elsewhere than the source. */
export function packageVersion(): string {
  for (const folder of ['../', '../../']) {
    try {
      const manifest = JSON.parse(readFileSync(new URL(`${folder}package.json`, import.meta.url), 'utf8')) as {
        readonly name?: string
        readonly version?: string
      }
      if (manifest.name === 'detent' && manifest.version !== undefined) return manifest.version
    } catch {
      // No manifest there: look further up.
    }
  }
  return 'unknown'
}
