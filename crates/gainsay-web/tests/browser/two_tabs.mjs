// The same file in two tabs, by another program, and deleted: nothing is overwritten, and everybody is told.
import { readFileSync, rmSync, writeFileSync } from "node:fs";
import { equal, has, journey, settled } from "./harness.mjs";

const file = `${process.argv[3]}/storyteller.toml`;
const read = () => readFileSync(file, "utf8");

for (const javaScriptEnabled of [true, false]) {
  await journey(
    async (page, context) => {
      const other = await context.newPage();
      const start = read();
      await page.goto("/cases/storyteller/file");
      await other.goto("/cases/storyteller/edit");
      // The other types, then one saves.
      await other.fill('[name="source[0].distance"]', "0.15 m");
      await page.fill("textarea", start.replace("A storyteller", "One storyteller"));
      await settled(page, () => page.click("form.text-form button"));
      has(read(), "One storyteller", "the first save");
      // The other is told; saving shows both and changes nothing.
      if (javaScriptEnabled) {
        await other.bringToFront();
        await other.waitForSelector("#news button", { timeout: 10_000 });
        has(await other.textContent("#news"), "changed elsewhere", "the notice");
        equal(await other.inputValue('[name="source[0].distance"]'), "0.15 m", "what was typed");
        await other.click("#news button");
        await other.waitForSelector(".both");
      } else {
        await settled(other, () => other.locator('button[value="save"]').last().click());
      }
      has(await other.textContent(".problem"), "Not saved.", "the second save");
      has(await other.textContent(".both pre"), "One storyteller", "what stands there");
      has(await other.inputValue(".both textarea"), "0.15 m", "what was typed here");
      has(await other.textContent(".both mark"), "One storyteller", "the line that differs");
      if (read().includes("0.15")) throw new Error("the second save has overwritten the first");
      // They choose theirs; the other text stays among the earlier ones.
      await settled(other, () => other.click("text=Save mine in its place"));
      has(read(), "0.15 m", "what was chosen");
      await other.goto("/cases/storyteller/history");
      const versions = await other.$$eval("ul.shelf a", (all) => all.map((a) => a.href));
      let found = false;
      for (const version of versions) {
        await other.goto(version);
        found ||= (await other.textContent("pre.text")).includes("One storyteller");
      }
      if (!found) throw new Error("the first save is not among the earlier texts");

      // A page that only shows follows by itself.
      await page.goto("/cases/storyteller");
      await page.bringToFront();
      await page.waitForTimeout(500);
      writeFileSync(file, read().replace(/title = ".*"/, 'title = "Changed by an editor"'));
      if (!javaScriptEnabled) await page.reload();
      await page.waitForFunction(() => document.querySelector("h1").textContent === "Changed by an editor", null, { timeout: 10_000 });

      // The file goes while its page is open.
      const last = read();
      rmSync(file);
      if (!javaScriptEnabled) await page.reload();
      await page.waitForSelector(".notice button", { timeout: 10_000 });
      has(await page.textContent("main"), "no longer there", "a file that is gone");
      await settled(page, () => page.click(".notice button"));
      // What our program saved last is what can be brought back; what an editor wrote after it was never seen.
      has(read(), "0.15 m", "brought back");
      writeFileSync(file, start);
      if (!last) throw new Error("unreachable");
    },
    { javaScriptEnabled, mayComplain: true },
  );
}
