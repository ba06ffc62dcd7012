// A verdict is short; an option is carried out, the verdict turns, and back again. Undoing never takes what came later.
import { equal, has, journey, settled } from "./harness.mjs";

await journey(
  async (page, context) => {
    const verdict = async () => (await page.textContent("main table tbody .verdict")).trim();
    await page.goto("/cases/storyteller-pocket-recorder");
    has(await verdict(), "short", "as it stands");
    const text = async () => {
      const other = await context.newPage();
      await other.goto("/cases/storyteller-pocket-recorder/file");
      const value = await other.inputValue("textarea");
      await other.close();
      return value;
    };
    const before = await text();
    await page.goto("/cases/storyteller-pocket-recorder/options");
    await settled(page, () => page.click("tr.chosen button"));
    has(await verdict(), "enough", "with the option");
    const notice = (await page.textContent(".notice")).replace(/\s+/g, " ");
    has(notice, "Storyteller: ✗ short → ✓ enough", "what has turned");
    const after = await text();
    has(after, 'booster = "usual-booster"', "the file");
    has(after, "# What the shop by the quay would sell.", "its comments");
    await settled(page, () => page.click(".notice button"));
    has(await verdict(), "short", "undone");
    equal(await text(), before, "the file as it was");
    has((await page.textContent(".notice")).replace(/\s+/g, " "), "✓ enough → ✗ short", "undoing can be undone");
    await settled(page, () => page.click(".notice button"));
    has(await verdict(), "enough", "done again");

    // Somebody changes the file: the button in the page that is still open refuses, and shows both.
    const stale = await page.content();
    const form = await page.$eval(".notice form", (form) => [form.action, new URLSearchParams(new FormData(form)).toString()]);
    const other = await context.newPage();
    await other.goto("/cases/storyteller-pocket-recorder/file");
    await other.fill("textarea", after.replace("distance = \"0.1 m\"", "distance = \"0.2 m\""));
    await settled(other, () => other.click("form.text-form button"));
    has(stale, "Undo", "the page that is open");
    const answer = await page.request.post(form[0], {
      data: form[1],
      headers: { "content-type": "application/x-www-form-urlencoded", "sec-fetch-site": "same-origin" },
    });
    equal(answer.status(), 409, "undoing what has changed since");
    has(await answer.text(), "Not saved.", "undoing what has changed since");
    has(await text(), "0.2 m", "what came later stands");
  },
  { mayComplain: true },
);
