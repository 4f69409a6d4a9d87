// Answers a plan for a POSTed job. The body, the time, the memory and the number of plans at once are
// bounded: whatever is sent, the server answers and goes on.
import { createServer } from 'node:http';
import { Worker } from 'node:worker_threads';

const maxBytes = 1_000_000;
const maxMilliseconds = Number(process.env.MAX_MILLISECONDS ?? 10_000);
const maxAtOnce = 2;
let atOnce = 0;

const server = createServer(async (request, response) => {
  const answer = (status, body) => {
    response.writeHead(status, { 'content-type': 'application/json', connection: 'close' });
    response.end(JSON.stringify(body));
  };
  if (request.method !== 'POST') return answer(405, { error: 'POST a job' });
  const text = await bodyOf(request);
  if (text === undefined) return answer(413, { error: `at most ${maxBytes} bytes` });
  if (atOnce >= maxAtOnce) return answer(503, { error: 'busy, try again' });
  atOnce += 1;
  try {
    const result = await planInWorker(text);
    if (result === undefined) return answer(504, { error: `not done in ${maxMilliseconds} ms` });
    return answer(result.plan === undefined ? 422 : 200, result);
  } catch (error) {
    return answer(500, { error: error.message });
  } finally {
    atOnce -= 1;
  }
});
server.requestTimeout = 10_000;
server.listen(0, '127.0.0.1', () => console.log(server.address().port));

/** The text of the body; nothing when it is too long, whatever its header says. */
async function bodyOf(request) {
  const chunks = [];
  let length = 0;
  for await (const chunk of request) {
    length += chunk.length;
    if (length <= maxBytes) chunks.push(chunk);
    else if (length > 10 * maxBytes) break;
  }
  return length > maxBytes ? undefined : Buffer.concat(chunks).toString('utf8');
}

/** `{ plan }` or `{ problems }`; nothing when the time is up. */
async function planInWorker(json) {
  const worker = new Worker(new URL('./plan-worker.mjs', import.meta.url), {
    workerData: json,
    resourceLimits: { maxOldGenerationSizeMb: 512 },
  });
  let timer;
  try {
    return await new Promise((resolve, reject) => {
      worker.once('message', resolve);
      worker.once('error', reject);
      timer = setTimeout(resolve, maxMilliseconds);
    });
  } finally {
    clearTimeout(timer);
    await worker.terminate();
  }
}
