/** The clients of each test of a file: started where a test asks for one, stopped behind it without a problem reported. */
import { afterEach, expect } from 'vitest'
import { type ClientOptions, startClient, type TestClient } from '../harness/client.ts'

/** What starts a client for the test that runs. Called at the top of a file. */
export function testClients(): (options?: ClientOptions) => Promise<TestClient> {
  const running: TestClient[] = []
  afterEach(async () => {
    for (const client of running.splice(0)) expect((await client.stop()) ?? []).toEqual([])
  })
  return async options => {
    const client = await startClient(options)
    running.push(client)
    return client
  }
}
