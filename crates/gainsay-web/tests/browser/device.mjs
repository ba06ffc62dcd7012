// A device's page: what its figures rest on unfolds, and leads to the ways of changing it; a built-in kind has none.
import { equal, has, journey, violations } from "./harness.mjs";

await journey(async (page) => {
  await page.goto("/gear/boathouse-interface");
  await page.click("main summary >> nth=0");
  has(await page.textContent("main details[open]"), "(", "where a figure comes from");
  const wrong = await violations(page);
  await page.setViewportSize({ width: 360, height: 800 });
  const over = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
  if (over > 0) wrong.push(`${over} px wider than the window`);
  if (wrong.length) throw new Error(wrong.join("\n"));
  for (const way of ["edit", "file", "history"])
    equal(await page.locator(`main nav a[href="/gear/boathouse-interface/${way}"]`).count(), 1, `links to ${way}`);
  // Its file and its figures are there to keep.
  const file = await page.request.get("/gear/boathouse-interface/device.toml");
  has(await file.text(), 'name = "Boathouse interface', "its file");
  const data = await (await page.request.get("/gear/boathouse-interface/device.json")).json();
  equal(data.id, "boathouse-interface", "its figures");
  equal(data.on_one_footing.groups.length > 0 && data.figures.length > 0, true, "whether there are figures");
  await page.goto("/gear/usual-interface");
  equal(await page.locator("main nav").count(), 0, "ways of changing what is built in");
});
