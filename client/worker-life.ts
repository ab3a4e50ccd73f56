/**
 * Whether the worker of the language server still lives. A browser that ends a worker says nothing of it; but the worker
 * holds a lock as long as it lives, and the browser gives that to the next who asks. A worker that computes, is debugged or
 * sleeps with the machine holds it all the while.
 */

/** What is asked of the locks that all workers of one origin share. */
export interface Locks {
  request(name: string, held: () => unknown): Promise<unknown>
}

/** The locks of this host; none where the editor was opened over an unsafe connection. */
export function hostLocks(): Locks | undefined {
  return (globalThis as { readonly navigator?: { readonly locks?: Locks } }).navigator?.locks
}

/** Resolves once the worker that holds the lock of this name is gone; at once where nobody holds it. */
export async function whenGone(locks: Locks, name: string): Promise<void> {
  await locks.request(name, () => undefined)
}
