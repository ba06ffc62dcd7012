// A slider moves, the picture follows, and the way back is there.
import { has, journey } from "./harness.mjs";

await journey(async (page) => {
  await page.goto("/cases/storyteller/sources/1");
  const before = await page.textContent("#seen");
  await page.fill("input[name=distance]", "0.4");
  await page.waitForFunction((old) => document.querySelector("#seen").textContent !== old, before);
  has((await page.textContent("#seen")).replace(/\s/g, " "), "at 40 cm", "the picture further away");
  has(await page.textContent("#seen"), "before", "where the levels were");
  // A window that becomes narrow has its own picture, and a wide one again the other.
  await page.setViewportSize({ width: 400, height: 900 });
  await page.waitForSelector("#seen .picture.narrow svg", { state: "visible" });
  has((await page.textContent("#seen .picture.narrow")).replace(/\s/g, " "), "at 40 cm", "the narrow picture");
  await page.setViewportSize({ width: 1200, height: 900 });
  await page.waitForSelector("#seen .picture.wide svg", { state: "visible" });
  await page.click(".what-if a");
  await page.waitForLoadState();
  if ((await page.textContent("#seen")) !== before) throw new Error("the way back leads elsewhere");
  // Figures unfold.
  await page.click("details.stage summary");
  has(await page.textContent("details.stage[open]"), "dB SPL", "the first stage");
});
