/** The address of a check's page in the reference, relative to the top of the project. */
export function pageOf(code: string): string {
  return `grammar/reference/checks.md#${code}`
}
