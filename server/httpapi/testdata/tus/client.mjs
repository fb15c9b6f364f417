// usage: node client.mjs ENDPOINT FILE
// Sends a file with a client that we did not write, in the ways that client has, and
// prints what it did as JSON: for each way the requests and how the upload ended.
import { createHash } from 'node:crypto'
import { readFileSync } from 'node:fs'
import * as tus from 'tus-js-client'

const [endpoint, name] = process.argv.slice(2)
const file = readFileSync(name)
const MiB = 1 << 20

// send runs one upload to its end, or until so many bytes were accepted.
function send (options, until = Infinity) {
  return new Promise(resolve => {
    const seen = { requests: [], offset: 0, error: '' }
    const done = () => resolve({ ...seen, url: upload.url })
    const bytes = options.file ?? file
    const upload = new tus.Upload(bytes, {
      endpoint,
      chunkSize: MiB,
      retryDelays: [0, 0, 0],
      metadata: { filename: '../../etc/leaf.jpg', sha256: createHash('sha256').update(bytes).digest('hex') },
      onBeforeRequest: r => { seen.requests.push((r.getHeader('X-HTTP-Method-Override') ?? r.getMethod())) },
      onChunkComplete: (_, accepted) => {
        seen.offset = accepted
        if (accepted >= until && accepted < bytes.length) upload.abort(options.give).then(done)
      },
      onSuccess: done,
      onError: e => { seen.error = String(e.message); done() },
      ...options.tus
    })
    upload.start()
  })
}

// Another content for each way: a photo that is here already is not sent again.
const other = n => Buffer.concat([file, Buffer.from([n])])
const result = {}
result.whole = await send({})
result.again = await send({})
result.cut = await send({ file: other(1) }, 3 * MiB)
result.resumed = await send({ file: other(1), tus: { uploadUrl: result.cut.url } })
result.first = await send({ file: other(2), tus: { uploadDataDuringCreation: true } })
result.posted = await send({ file: other(3), tus: { overridePatchMethod: true } })
result.given = await send({ file: other(4), give: true }, 2 * MiB)
console.log(JSON.stringify(result))
