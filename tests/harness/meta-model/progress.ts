/** Progress in the messages of a connection: the meta model says of its values only that they are anything. */

import type { MetaModel, Validator } from './types.ts'

type Token = string | number

interface Params {
  readonly token?: Token
  readonly value?: { readonly kind?: unknown }
  readonly workDoneToken?: Token
  readonly partialResultToken?: Token
}

export interface ProgressCheck {
  /** Takes a request's tokens, or the capabilities of the client that say that it may be asked for one. */
  request(from: 'client' | 'server', method: string, params: unknown): readonly string[]
  /** Takes a `$/progress`. */
  progress(params: unknown): readonly string[]
  /** What is begun and not ended. */
  end(): readonly string[]
}

const structures: Readonly<Record<string, string>> = {
  begin: 'WorkDoneProgressBegin',
  report: 'WorkDoneProgressReport',
  end: 'WorkDoneProgressEnd',
}

export function createProgressCheck({ model, check }: Validator): ProgressCheck {
  const methods = new Map(model.requests.map(one => [one.method, one] as const))
  const partial = new Map<Token, MetaModel['requests'][number]>()
  const work = new Map<Token, 'known' | 'begun' | 'ended'>()
  let mayAsk = false
  const step = (token: Token, kind: string): readonly string[] => {
    const state = work.get(token)
    const isInOrder = kind === 'begin' ? state === 'known' : state === 'begun'
    work.set(token, kind === 'end' ? 'ended' : 'begun')
    return isInOrder ? [] : [`$/progress ${token}: ${kind} where it is ${state}`]
  }
  return {
    request: (from, method, params) => {
      const { token, workDoneToken, partialResultToken } = (params ?? {}) as Params
      if (method === 'initialize') {
        const { capabilities } = params as { capabilities?: { window?: { workDoneProgress?: boolean } } }
        mayAsk = capabilities?.window?.workDoneProgress === true
      }
      if (from === 'client') {
        if (workDoneToken !== undefined) work.set(workDoneToken, 'known')
        const asked = methods.get(method)
        if (partialResultToken !== undefined && asked !== undefined) partial.set(partialResultToken, asked)
      } else if (method === 'window/workDoneProgress/create' && token !== undefined) {
        work.set(token, 'known')
        return mayAsk ? [] : [`${method}: the client shows no progress`]
      }
      return []
    },
    progress: params => {
      const { token, value } = (params ?? {}) as Params
      if (token === undefined) return ['$/progress: no token']
      const request = partial.get(token)
      if (request?.partialResult !== undefined)
        return check(request.partialResult, value, `${request.method} partial result`)
      if (!work.has(token)) return [`$/progress ${token}: nobody knows the token`]
      const kind = String(value?.kind)
      const name = structures[kind]
      if (name === undefined) return [`$/progress ${token}: ${kind} is no kind`]
      return [...check({ kind: 'reference', name }, value, '$/progress'), ...step(token, kind)]
    },
    end: () => [...work].flatMap(([token, state]) => (state === 'begun' ? [`$/progress ${token}: never ended`] : [])),
  }
}
