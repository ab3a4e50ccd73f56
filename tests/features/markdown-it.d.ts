/** What is used of markdown-it, which comes without types. */
declare module 'markdown-it' {
  export default class MarkdownIt {
    constructor(options: { readonly html: boolean; readonly linkify: boolean })
    render(markdown: string): string
  }
}
