// Gear is found; a built-in device is kept as a copy, removed and brought back; the same without scripts.
import { unlinkSync, writeFileSync } from "node:fs";
import { equal, has, journey, settled, violations } from "./harness.mjs";

const folder = process.argv[3];
const own = "#found > table.gear";
const kind = "ribbon-figure-of-eight";
const copy = `button[name=of][value="${kind}"]`;

async function remove(page, name) {
  await page.goto(`/gear/${name}`);
  await settled(page, () => page.click("main nav a:has-text('Remove')"));
  has(await page.textContent("main"), "can be brought back", "what is said before it is removed");
  await settled(page, () => page.click("button:has-text('Remove it')"));
  equal(new URL(page.url()).pathname, "/gear", "where one is then");
  has(await page.textContent(".notice"), name, "what has been removed");
}

for (const javaScriptEnabled of [true, false]) {
  await journey(
    async (page) => {
      await page.goto("/gear");
      equal(await page.locator(`${own} tbody tr`).count(), 4, "devices of the folder");
      // A tick stays while others are looked for.
      await page.check('input[value="kitchen-interface"]');
      await page.fill("#gear-find", "recordr");
      if (javaScriptEnabled) await page.waitForFunction(() => document.querySelector("#count").textContent.startsWith("Found: 1 device"));
      else await settled(page, () => page.click("button:has-text('Find them')"));
      has(await page.textContent("#count"), "Found: 1 device in your folder", "how many are found");
      has(await page.textContent(own), "Pocket recorder", "a word that is misspelt a little");
      equal(await page.isChecked('input[value="kitchen-interface"]'), true, "whether the tick has stayed");
      has(page.url(), "find=recordr", "the search in the address");
      if (javaScriptEnabled) equal(await page.evaluate(() => document.activeElement.id), "gear-find", "where typing goes on");
      // What is ticked is compared, wherever it was found.
      await page.check('input[value="pocket-recorder"]');
      await settled(page, () => page.click("button:has-text('Compare what is ticked')"));
      equal(await page.locator("table.footing tbody tr").count(), 2, "devices side by side");
      // A search that makes no sense is told so.
      await page.goto("/gear?find=price%3Ccheap");
      has(await page.textContent("#found [role=alert]"), "needs a number", "what is wrong with the search");
      // Ribbon microphones need no phantom power, condensers do: IEC 61938 feeds an amplifier in the microphone, and a ribbon has none.
      await page.goto("/gear?find=transducer%3Dribbon+phantom%3Dno&kind=microphone");
      const found = await page.textContent("#found");
      has(found, "Ribbon microphone, figure-of-eight, typical", "a ribbon microphone");
      equal(/condenser/i.test(found), false, "whether a condenser is found");
      if (javaScriptEnabled) {
        const wrong = await violations(page);
        await page.setViewportSize({ width: 360, height: 800 });
        const over = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
        if (over > 0) wrong.push(`${over} px wider than the window`);
        if (wrong.length) throw new Error(wrong.join("\n"));
        await page.setViewportSize({ width: 1200, height: 900 });
      }

      // A copy is kept, typical as what it was copied from, and can be taken back.
      await settled(page, () => page.click(copy));
      equal(new URL(page.url()).pathname, `/gear/${kind}`, "the page of the copy");
      has(await page.textContent("main"), "typical", "where its figures come from");
      equal(/\((sheet|measured)\)/.test(await page.textContent("main")), false, "whether a figure claims to be a sheet's");
      has(await page.textContent(".notice"), "Undo", "the way back");
      const first = await (await page.request.get(`/gear/${kind}/device.toml`)).text();
      has(first, 'from = "typical"', "the file of the copy");
      // Another copy needs other names: they are proposed, and the first stays as it is. The built-in device is hidden by its copy.
      const again = await page.request.post("/gear/copy", { form: { of: kind } });
      equal(again.status(), 409, "a name that is taken");
      const asked = await again.text();
      has(asked, `value="${kind}-2"`, "a free name of a file");
      has(asked, 'value="Ribbon microphone, figure-of-eight, typical (2)"', "a free name of a device");
      equal(await (await page.request.get(`/gear/${kind}/device.toml`)).text(), first, "the first copy");
      const bad = await page.request.post("/gear/copy", { form: { of: kind, name: "Another", file: "../../outside" } });
      equal(bad.status(), 422, "a name that leads out of the folder");

      // Removed, brought back, removed.
      await remove(page, kind);
      await settled(page, () => page.click(".notice button:has-text('Undo')"));
      equal(await (await page.request.get(`/gear/${kind}/device.toml`)).text(), first, "what is brought back");
      await remove(page, kind);
      equal(await page.locator(`${own} tbody tr`).count(), 4, "devices of the folder at the end");
      has(await page.textContent("main"), "Deleted", "the way to what was removed");
      // A device that a case names says so before it goes.
      await page.goto("/gear/kitchen-interface/remove");
      has(await page.textContent("main ul"), "storyteller", "a case that names it");
      // Somebody else has changed it meanwhile: it stays.
      const late = await page.request.post("/gear/kitchen-interface/remove", { form: { base: "0".repeat(64) } });
      equal(late.status(), 409, "a file that is another one now");
      has(await late.text(), "Nothing was removed", "what is said then");

      // A file that can't be read is shown with what is wrong, and a way to its text.
      const broken = `${folder}/gear/broken.toml`;
      writeFileSync(broken, 'name = "Broken preamp"\ntype = "preamp"\n[[microphone_inputs]]\nein = "-128 dBq"\n');
      try {
        for (const address of ["/gear", "/gear/broken"]) {
          await page.goto(address);
          has(await page.textContent("main"), "broken.toml, line 4", `where it is wrong, on ${address}`);
          equal(await page.locator('a[href="/gear/broken/file"]').count(), 1, `links to the text on ${address}`);
        }
      } finally {
        unlinkSync(broken);
      }
    },
    // A page of a file that can't be read is no success to the browser, which complains.
    { javaScriptEnabled, mayComplain: true },
  );
}
