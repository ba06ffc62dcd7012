// Somebody who has never been here gets an answer, changes what is asked, and keeps the address of it.
import { equal, has, journey, site } from "./harness.mjs";

await journey(async (page, context) => {
  await page.goto("/");
  has(await page.textContent("#answer"), "Whisper", "the first answer");
  const before = await page.textContent("#answer .answer");
  await page.selectOption("select[name=kind]", "trumpet");
  await page.waitForFunction((old) => document.querySelector("#answer .answer").textContent !== old, before);
  has(await page.textContent("#answer"), "Trumpet", "the answer to another question");
  const address = page.url();
  has(address, "kind=trumpet", "the address holds the question");
  // The address alone brings the same answer to another browser.
  const other = await context.newPage();
  await other.goto(address);
  equal(await other.textContent("#answer .answer"), await page.textContent("#answer .answer"), "the same question elsewhere");
  equal(await other.inputValue("select[name=kind]"), "trumpet", "the form elsewhere");
  // So does the link that the page offers, of a question that was changed in several places.
  // One after the other: a request that is cut off by the next one counts as a complaint.
  await page.fill("input[name=distance]", "35 cm");
  await page.press("input[name=distance]", "Tab");
  await page.waitForFunction(() => document.querySelector("a.copied")?.href.includes("35%20cm"));
  await page.fill("input[name=room]", "NR 20 ± 3");
  await page.press("input[name=room]", "Tab");
  await page.waitForFunction(() => document.querySelector("a.copied")?.href.includes("NR%2020"));
  const third = await context.newPage();
  await third.goto(await page.getAttribute("a.copied", "href"));
  const state = (of) => of.$eval("form.question", (form) => new URLSearchParams(new FormData(form)).toString());
  equal(await state(third), await state(page), "the question behind the link");
  equal(await third.textContent("#answer .answer"), await page.textContent("#answer .answer"), "the answer behind the link");
  // One's own box is among those to choose from, and makes a case as the others do.
  await page.selectOption("select[name=into]", "kitchen-interface");
  await page.waitForFunction(() => document.querySelector("#answer .picture")?.textContent.includes("Kitchen interface"));
  await page.click("form.make button");
  await page.waitForSelector(".notice");
  has(await page.textContent("main table"), "Kitchen interface", "the case of one's own box");
  // What is no distance is said, with a way to mend it.
  await other.fill("input[name=distance]", "far away");
  await other.press("input[name=distance]", "Enter");
  await other.waitForSelector("#answer .problem");
  has(await other.textContent("#answer .problem"), "far away", "a wrong distance");
});

// The same without scripts.
await journey(
  async (page) => {
    await page.goto("/");
    await page.selectOption("select[name=kind]", "trumpet");
    await page.click("form.question button");
    has(await page.textContent("#answer"), "Trumpet", "the answer without scripts");
    await page.goto("/cases/storyteller/sources/1");
    await page.click("form.what-if button");
    has(page.url(), `${site}/cases/storyteller/sources/1?`, "a what-if without scripts");
  },
  { javaScriptEnabled: false },
);
