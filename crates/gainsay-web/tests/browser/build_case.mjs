// The quintet from nothing, by forms alone: a case is begun, sources and devices field by field. What it comes to is what
// the demo's own file comes to.
import { equal, has, journey, settled } from "./harness.mjs";

const sources = [
  { name: "Fiddle", kind: "fiddle", microphone: "small-condenser-cardioid", distance: "0.5 m", cable: "8 m" },
  { name: "Hammered dulcimer", kind: "hammered dulcimer", microphone: "small-condenser-cardioid", distance: "0.6 m", cable: "8 m" },
  { name: "Upright bass", kind: "upright bass plucked", microphone: "large-condenser-usual", distance: "0.3 m", cable: "6 m" },
  { name: "Frame drum", kind: "frame drum", microphone: "moving-coil-instrument", distance: "0.4 m", cable: "6 m" },
  { name: "Low voice", kind: "sung voice", microphone: "large-condenser-usual", distance: "0.3 m", cable: "10 m", turns: "singers" },
  { name: "High voice", kind: "sung voice", microphone: "large-condenser-usual", distance: "0.3 m", cable: "10 m", turns: "singers" },
];
const owned = [
  { device: "boathouse-interface" },
  { device: "borrowed-converter-box" },
  { device: "small-condenser-cardioid", count: "2" },
  { device: "large-condenser-usual", count: "2" },
  { device: "moving-coil-instrument" },
];

/** Rows of the table of sources, as texts. */
const rows = (page) => page.$$eval("main table tbody tr", (all) => all.map((row) => [...row.cells].map((cell) => cell.textContent.trim())));

async function fill(page, table, index, fields) {
  for (const [field, value] of Object.entries(fields)) {
    const input = page.locator(`[name="${table}[${index}].${field}"]`);
    await input.fill(value);
  }
}

for (const javaScriptEnabled of [true, false]) {
  await journey(
    async (page) => {
      await page.goto("/cases/quintet");
      const wanted = await rows(page);
      // A title may hold what it likes; a second case of the same title takes another name.
      const title = 'Tuesday, "late" \\ \u00e9';
      await page.goto("/cases");
      has(await page.textContent(".shelf"), "Buy nothing: what is there is good enough", "the answers in the list");
      await page.fill("form.begin input[name=title]", title);
      await page.selectOption("form.begin select", "fiddle");
      await settled(page, () => page.click("form.begin button"));
      has(page.url(), "/cases/tuesday-late", "a case that is begun");
      equal(await page.inputValue('[name="title"]'), title, "its title");
      // Enter in a field saves, as the first button does.
      await page.fill('[name="title"]', "Built by hand");
      for (const part of ["session", "room"]) await page.click(`details.table > summary:has-text("${part}")`);
      await page.fill('[name="session.sample_rate"]', "48 kHz");
      await page.fill('[name="room.noise"]', "NR 22 ± 4");
      for (const [index, source] of sources.entries()) {
        if (index > 0) await settled(page, () => page.click('button[value="add source"]'));
        await fill(page, "source", index, source);
      }
      for (const [index, device] of owned.entries()) {
        if (index > 0) await settled(page, () => page.click('button[value="add owned"]'));
        await fill(page, "owned", index, device);
      }
      await settled(page, () => page.locator('button[value="save"]').last().click());
      equal(await page.textContent("h1"), "Built by hand", "the title");
      equal(JSON.stringify(await rows(page)), JSON.stringify(wanted), "the same sources as the demo's");
      // The next time it takes another name; this one goes.
      await page.goto(`${new URL(page.url()).pathname}/history`);
      await settled(page, () => page.click("form.delete button"));
      has(await page.textContent("main"), "no longer there", "deleted");
    },
    { javaScriptEnabled },
  );
}
