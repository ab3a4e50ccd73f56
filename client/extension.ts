/** Called by the editor when a file of the language is opened. */
export function activate(): void {}
