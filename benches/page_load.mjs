// Many requests at once.
//
//     page_load.mjs throughput ADDRESS            what-ifs a second over kept connections
//     page_load.mjs clients ADDRESS SECONDS       five hundred clients, each with a connection of its own
import http from "node:http";
import { Worker, isMainThread, parentPort, workerData } from "node:worker_threads";

const WHAT_IF = (n) => `/cases/storyteller/sources/1/what-if?gain=${n % 51}&distance=${(0.05 + (n % 90) / 100).toFixed(2)}&louder=0&cable=3&only=wide`;

function ask(agent, site, path) {
  return new Promise((done) => {
    const start = performance.now();
    const request = http.get(site + path, { agent }, (answer) => {
      let bytes = 0;
      answer.on("data", (chunk) => (bytes += chunk.length));
      answer.on("end", () => done({ status: answer.statusCode, bytes, ms: performance.now() - start }));
      answer.on("error", (error) => done({ status: error.code, bytes, ms: performance.now() - start }));
    });
    request.on("error", (error) => done({ status: error.code ?? "error", bytes: 0, ms: performance.now() - start }));
  });
}

// Asks over so many connections for so long; tells how it went.
async function load(site, path, connections, seconds) {
  const agent = new http.Agent({ keepAlive: true, maxSockets: connections });
  const end = performance.now() + seconds * 1000;
  const start = performance.now();
  const times = [];
  const statuses = new Map();
  let bytes = 0;
  let n = 0;
  await Promise.all(
    Array.from({ length: connections }, async () => {
      while (performance.now() < end) {
        const answer = await ask(agent, site, path((n += 1)));
        statuses.set(answer.status, (statuses.get(answer.status) ?? 0) + 1);
        if (answer.status === 200) times.push(answer.ms);
        bytes = Math.max(bytes, answer.bytes);
      }
    }),
  );
  agent.destroy();
  times.sort((a, b) => a - b);
  const at = (share) => times[Math.min(times.length - 1, Math.floor(share * times.length))] ?? NaN;
  return { rate: times.length / ((performance.now() - start) / 1000), statuses, bytes, median: at(0.5), most: at(0.99), slowest: times.at(-1) };
}

const told = (statuses) => [...statuses].map(([status, count]) => `${count} × ${status}`).join(", ");

if (!isMainThread) {
  // The yardstick: a server that has its one answer in memory.
  const body = Buffer.alloc(workerData, "x");
  const server = http.createServer((_, answer) => answer.end(body));
  server.listen(0, "127.0.0.1", () => parentPort.postMessage(server.address().port));
} else if (process.argv[2] === "throughput") {
  const site = process.argv[3];
  await load(site, WHAT_IF, 16, 1);
  const runs = [];
  for (let run = 0; run < 3; run += 1) runs.push(await load(site, WHAT_IF, 16, 4));
  const best = runs.reduce((a, b) => (b.rate > a.rate ? b : a));
  console.log(`${best.rate.toFixed(0)} what-ifs a second (aim: at least 1500), answers of up to ${(best.bytes / 1000).toFixed(0)} kB: ${told(best.statuses)}; median ${best.median.toFixed(1)} ms, 99 % within ${best.most.toFixed(1)} ms; best of ${runs.length}`);
  const worker = new Worker(new URL(import.meta.url), { workerData: best.bytes });
  const port = await new Promise((done) => worker.once("message", done));
  const plain = await load(`http://127.0.0.1:${port}`, () => "/", 16, 4);
  console.log(`node:http with as many bytes from memory, on the clients' own core: ${plain.rate.toFixed(0)} a second, ratio ${(best.rate / plain.rate).toFixed(2)}`);
  await worker.terminate();
} else {
  const [, , , site, seconds] = process.argv;
  const paths = ["/", "/cases", "/cases/quintet", "/gear", "/cases/storyteller", "/revision"];
  const found = await load(site, (n) => (n % 3 ? WHAT_IF(n) : paths[n % paths.length]), 500, Number(seconds));
  console.log(`${found.rate.toFixed(0)} answers a second: ${told(found.statuses)}; median ${found.median.toFixed(0)} ms, 99 % within ${found.most.toFixed(0)} ms, slowest ${found.slowest.toFixed(0)} ms`);
}
