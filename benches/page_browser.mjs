// From a slider to the new picture, weight and start of a page, in Chromium.
//
//     page_browser.mjs ADDRESS
import { createRequire } from "node:module";

const require = createRequire(`${process.env.GAINSAY_NODE_MODULES}/package.json`);
const { chromium } = require("playwright-core");
const site = process.argv[2];
const MOVES = 400;

const browser = await chromium.launch({
  executablePath: process.env.GAINSAY_CHROMIUM ?? "/usr/bin/chromium",
  args: ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking", "--disable-component-update"],
});
const quantile = (sorted, share) => sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))];
const of = (times) => {
  const sorted = [...times].sort((a, b) => a - b);
  return `median ${quantile(sorted, 0.5).toFixed(1)} ms, 99 % within ${quantile(sorted, 0.99).toFixed(1)} ms, slowest ${sorted.at(-1).toFixed(1)} ms of ${sorted.length}`;
};

// Each move begins when the one before has been painted, as a hand that watches does; in between, a little rest.
async function slide(path, name, from, to) {
  const page = await browser.newPage({ viewport: { width: 1200, height: 900 } });
  await page.goto(site + path);
  const moves = await page.evaluate(
    async ({ name, from, to, count }) => {
      const slider = document.querySelector(`input[name=${name}]`);
      const seen = document.querySelector("#seen");
      const results = [];
      for (let n = 0; n < count + 20; n += 1) {
        const step = Number(slider.step);
        const value = from + ((n * step * 7) % (to - from));
        await new Promise((done) => setTimeout(done, 15 + (n % 5) * 7));
        const result = await new Promise((done, fail) => {
          const late = setTimeout(() => fail(new Error("no new picture within 5 s")), 5000);
          const start = performance.now();
          const watch = new MutationObserver(() => {
            watch.disconnect();
            clearTimeout(late);
            const swapped = performance.now() - start;
            // Behind the frame's painting.
            requestAnimationFrame(() => {
              const { port1, port2 } = new MessageChannel();
              port1.onmessage = () => done({ swapped, painted: performance.now() - start });
              port2.postMessage(0);
            });
          });
          watch.observe(seen, { childList: true, attributes: true, characterData: true, subtree: true });
          slider.value = value;
          slider.dispatchEvent(new Event("input", { bubbles: true }));
        });
        // The first moves find neither code nor connections warm.
        if (n >= 20) results.push(result);
      }
      return results;
    },
    { name, from, to, count: MOVES },
  );
  await page.close();
  console.log(`${path}, ${name}: in the page ${of(moves.map((m) => m.swapped))}`);
  console.log(`  and painted (a frame is 16.7 ms): ${of(moves.map((m) => m.painted))} (aim: 99 % within 30 ms)`);
}

await slide("/cases/storyteller/sources/1", "distance", 0.02, 0.9);
await slide("/cases/quintet/sources/4", "gain", 0, 50);

// A first visit: nothing is cached.
const starts = [];
let weight = 0;
for (let n = 0; n < 15; n += 1) {
  const context = await browser.newContext();
  const page = await context.newPage();
  const client = await context.newCDPSession(page);
  await client.send("Network.enable");
  let bytes = 0;
  client.on("Network.loadingFinished", (event) => (bytes += event.encodedDataLength));
  await page.goto(site, { waitUntil: "networkidle" });
  const interactive = await page.evaluate(async () => {
    await document.fonts.ready;
    const [navigation] = performance.getEntriesByType("navigation");
    const paint = performance.getEntriesByName("first-contentful-paint")[0]?.startTime ?? 0;
    return Math.max(navigation.domContentLoadedEventEnd, paint);
  });
  starts.push(interactive);
  weight = Math.max(weight, bytes);
  await context.close();
}
console.log(`the first page: ${(weight / 1000).toFixed(0)} kB with fonts, as sent (aim: under 200 kB)`);
console.log(`seen and ready to be used: ${of(starts)} (aim: under 300 ms)`);
await browser.close();
