// A browser, and what the journeys have in common. Chromium is the machine's own; playwright-core drives it.
import { createRequire } from "node:module";
import { readFileSync } from "node:fs";

const require = createRequire(`${process.env.GAINSAY_NODE_MODULES ?? import.meta.dirname}/package.json`);
const { chromium } = require("playwright-core");
const axeSource = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");

export const site = process.argv[2];

/** Starts the browser, runs the journey, ends the browser; an error ends the process with its message. */
export async function journey(what, options = {}) {
  const browser = await chromium.launch({
    executablePath: process.env.GAINSAY_CHROMIUM ?? "/usr/bin/chromium",
    args: [
      "--no-sandbox",
      "--disable-gpu",
      "--disable-quic",
      "--no-first-run",
      "--disable-background-networking",
      "--disable-component-update",
      "--disable-sync",
    ],
  });
  try {
    const context = await browser.newContext({ baseURL: site, viewport: { width: 1200, height: 900 }, ...options });
    const page = await context.newPage();
    const said = [];
    page.on("console", (message) => message.type() === "error" && said.push(message.text()));
    page.on("pageerror", (error) => said.push(String(error)));
    await what(page, context, browser);
    if (said.length && !options.mayComplain) throw new Error(`the page complains: ${said.join("; ")}`);
  } finally {
    await browser.close();
  }
}

/** What the accessibility checker finds on a page. */
export async function violations(page) {
  // A script of the test's own is no script of the page: the policy of the page must not keep it out.
  const found = await page.evaluate(`(() => { ${axeSource}; return axe.run(document, { resultTypes: ["violations"] }); })()`);
  return found.violations.flatMap((violation) =>
    violation.nodes.map((node) => `${violation.id}: ${violation.help} (${node.target.join(" ")}) ${node.failureSummary ?? ""}`),
  );
}

export function equal(got, want, what) {
  if (got !== want) throw new Error(`${what}: ${JSON.stringify(got)}, want ${JSON.stringify(want)}`);
}

export function has(text, part, what) {
  if (!text.includes(part)) throw new Error(`${what}: ${JSON.stringify(part)} is not in ${JSON.stringify(text.slice(0, 600))}`);
}

/** Does something that leads to another page, and waits until that is there. */
export async function settled(page, does) {
  const before = await page.evaluate(() => performance.timeOrigin).catch(() => 0);
  await does();
  for (let tries = 0; tries < 200; tries += 1) {
    const now = await page.evaluate(() => (document.readyState === "complete" ? performance.timeOrigin : 0)).catch(() => 0);
    if (now > 0 && now !== before) return;
    await new Promise((done) => setTimeout(done, 50));
  }
  throw new Error(`no other page comes: ${(await page.textContent("main")).slice(0, 400)}`);
}
