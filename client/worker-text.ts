/** The text of the worker that the language server runs in: the server's bundle, and the one that it takes from. */

/**
 * @param client what the client runs from; only the modules that the server shares with it are run here
 * @param version the extension's
 * @param life the name of the lock that the worker holds as long as it lives
 */
export function workerText<T>(client: T, server: T, version: string, life: string): readonly (string | T)[] {
  return [
    'const shared = { exports: {} };\n(function (module, exports) {\n',
    client,
    '\n})(shared, shared.exports);\nconst module = { exports: {} }, exports = module.exports, require = () => shared.exports;\n',
    server,
    `\n;module.exports.startWorker(self, ${JSON.stringify(version)}, ${JSON.stringify(life)});`,
  ]
}
