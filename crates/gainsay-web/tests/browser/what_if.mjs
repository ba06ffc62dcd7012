// A slider moves, the picture follows, and the way back is there.
import { equal, has, journey } from "./harness.mjs";

await journey(async (page) => {
  await page.goto("/cases/storyteller/sources/1");
  const before = await page.textContent("#seen");
  await page.fill("#distance", "0.4");
  await page.waitForFunction((old) => document.querySelector("#seen").textContent !== old, before);
  has((await page.textContent("#seen")).replace(/\s/g, " "), "at 40 cm", "the picture further away");
  has(await page.textContent("#seen"), "before", "where the levels were");
  // When the hand rests, the figures that are unfolded follow, and the address: it shows the same again. What was open stays open.
  const unfolded = page.locator("#unfolded");
  await page.waitForFunction(() => document.getElementById("unfolded").textContent.includes("distance of Storyteller: 40 cm"));
  has(page.url(), "distance=0.4", "the address");
  await page.click("details.stage summary");
  await page.click("#seen summary");
  await page.focus("#distance");
  await page.fill("#distance", "0.5");
  await page.waitForFunction(() => document.getElementById("unfolded").textContent.includes("distance of Storyteller: 50 cm"));
  equal(await page.locator("#seen details[open]").count(), 1, "the picture in words, still open");
  equal(await unfolded.locator("details[open]").count(), 1, "the stage, still open");
  equal(await page.evaluate(() => document.activeElement.name), "distance", "the slider, still in focus");
  const stages = await unfolded.innerText();
  await page.reload();
  equal(await page.inputValue("#distance"), "0.5", "the slider after the address was opened again");
  has((await page.textContent("#seen")).replace(/\s/g, " "), "at 50 cm", "the picture after the address was opened again");
  await page.click("details.stage summary");
  equal(await unfolded.innerText(), stages, "the figures after the address was opened again");
  // A window that becomes narrow has its own picture, and a wide one again the other.
  await page.setViewportSize({ width: 400, height: 900 });
  await page.waitForSelector("#seen .picture.narrow svg", { state: "visible" });
  has((await page.textContent("#seen .picture.narrow")).replace(/\s/g, " "), "at 50 cm", "the narrow picture");
  await page.setViewportSize({ width: 1200, height: 900 });
  await page.waitForSelector("#seen .picture.wide svg", { state: "visible" });
  await page.click(".what-if a");
  await page.waitForLoadState();
  if ((await page.textContent("#seen")) !== before) throw new Error("the way back leads elsewhere");
  // Every device is offered once: the folder's own before those that are built in.
  const kept = await page.request.post("/gear/copy", { form: { of: "ribbon-figure-of-eight", name: "Our ribbon, mended", file: "our-ribbon" } });
  equal(kept.status(), 200, "a copy of a microphone");
  await page.reload();
  const offered = await page.$$eval("select[name=microphone] option", (all) => all.map((option) => option.value));
  equal(offered.length, new Set(offered).size, "microphones offered, each once");
  equal(offered[1], "our-ribbon", "the first that is offered");
  await page.selectOption("select[name=microphone]", "our-ribbon");
  await page.waitForFunction(() => document.getElementById("unfolded").textContent.includes("Our ribbon, mended"));
  has(await page.textContent("#seen"), "Our ribbon, mended", "the picture with one's own microphone");
  await page.goto("/cases/storyteller/sources/1");
  // Figures unfold.
  await page.click("details.stage summary");
  has(await page.textContent("details.stage[open]"), "dB SPL", "the first stage");
});
