/** Statistics of logs and scores: plain numbers in, plain numbers out. */

export * from './bootstrap.ts'
export * from './gain.ts'
export * from './moments.ts'
export * from './series-mean.ts'
export * from './t-tests.ts'
