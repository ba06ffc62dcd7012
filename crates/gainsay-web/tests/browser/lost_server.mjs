// The server dies in the middle of a save: the file is the old text or the new one, what was typed is still in the page, and after
// a new start it can be saved. With scripts and without.
import { spawn } from "node:child_process";
import { readFileSync } from "node:fs";
import { equal, has, journey } from "./harness.mjs";

const [folder, program] = process.argv.slice(3);
const file = `${folder}/storyteller.toml`;
let port = 0;

async function start() {
  const child = spawn(program, ["--exact", "a_server_to_be_killed", "--ignored", "--nocapture"], {
    env: { ...process.env, GAINSAY_SERVE: folder, GAINSAY_PORT: String(port) },
    stdio: ["ignore", "pipe", "inherit"],
  });
  const address = await new Promise((resolve, reject) => {
    let text = "";
    child.stdout.on("data", (data) => {
      text += data;
      const found = /listening on (\S+)/.exec(text);
      if (found) resolve(found[1]);
    });
    child.on("exit", () => reject(new Error(`the server ends: ${text}`)));
  });
  port = Number(address.split(":").pop());
  return {
    child,
    kill: () => {
      if (child.exitCode !== null || child.signalCode !== null) return Promise.resolve();
      return new Promise((done) => (child.once("exit", done), child.kill("SIGKILL")));
    },
  };
}

const wait = (ms) => new Promise((done) => setTimeout(done, ms));
const typed = (n) => readFileSync(file, "utf8").replace(/title = ".*"/, `title = "Telling number ${n}"`);
let server = await start();
const base = `http://127.0.0.1:${port}`;

try {
  await journey(
    async (page) => {
      let survived = 0;
      for (const [n, delay] of [0, 1, 2, 4, 8, 16, 32, "stopped"].entries()) {
        const before = readFileSync(file, "utf8");
        const after = typed(n);
        await page.goto(`${base}/cases/storyteller/file`);
        await page.fill("textarea", after);
        if (delay === "stopped") server.child.kill("SIGSTOP");
        const clicked = page.click("form.text-form button", { noWaitAfter: true });
        if (delay === "stopped") await clicked, await wait(200);
        else await wait(delay);
        await server.kill();
        await clicked;
        const now = readFileSync(file, "utf8");
        if (now !== before && now !== after) throw new Error(`half a text after ${delay} ms: ${JSON.stringify(now)}`);
        const told = await page.waitForSelector("#news p", { timeout: 8_000 }).catch(() => null);
        if (told && (await page.$("textarea"))) {
          survived += 1;
          has(await told.textContent(), "does not answer", "what is told");
          equal(await page.inputValue("textarea"), after, "what was typed");
        }
        server = await start();
        if (await page.$("textarea")) {
          await page.click("form.text-form button", { noWaitAfter: true });
          await page.waitForSelector("main table", { timeout: 8_000 }).catch(async () => {
            throw new Error(`not saved after ${delay} ms: ${page.url()} ${(await page.textContent("body")).slice(0, 500)}`);
          });
        }
        equal(readFileSync(file, "utf8"), after, `saved after a new start (${delay} ms)`);
      }
      console.log(`with scripts: ${survived} of 8 saves were cut off`);
      if (survived < 1) throw new Error("no save was cut off");
    },
    { mayComplain: true },
  );
  await journey(
    async (page) => {
      const after = typed("without scripts");
      await page.goto(`${base}/cases/storyteller/file`);
      await page.fill("textarea", after);
      server.child.kill("SIGSTOP");
      await page.click("form.text-form button", { noWaitAfter: true });
      await wait(300);
      await server.kill();
      await wait(500);
      // The browser's own page stands there. Back is where what was typed is.
      await page.goBack({ waitUntil: "commit" }).catch(() => null);
      await page.waitForSelector("textarea", { timeout: 8_000 });
      equal(await page.inputValue("textarea"), after, "what was typed, without scripts");
      server = await start();
      await page.click("form.text-form button");
      await page.waitForSelector("main table", { timeout: 8_000 });
      equal(readFileSync(file, "utf8"), after, "saved after a new start, without scripts");
    },
    { mayComplain: true, javaScriptEnabled: false },
  );
} finally {
  await server.kill();
}
