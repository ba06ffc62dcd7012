// A what-if is kept; figures are copied; tables, pictures and data are there to keep; the policy knows no styles in the markup.
import { equal, has, journey, settled, site } from "./harness.mjs";

await journey(
  async (page, context) => {
    await context.grantPermissions(["clipboard-read", "clipboard-write"], { origin: site });
    await page.goto("/cases/storyteller/sources/1");
    if (await page.$(".keep-settings")) throw new Error("nothing is different yet");
    await page.fill("input[name=distance]", "0.2");
    await page.waitForSelector(".keep-settings button");
    await settled(page, () => page.click(".keep-settings button"));
    await page.waitForSelector(".notice");
    await page.goto("/cases/storyteller/file");
    const text = await page.inputValue("textarea");
    has(text, 'distance = "0.2 m"', "the distance is kept");
    if (/^gain/m.test(text)) throw new Error("a gain that nobody moved is kept");
    await page.goto("/cases/storyteller/sources/1");
    await page.click('dl.figures dd button[aria-label^="Copy: Peak"]');
    const copied = await page.evaluate(() => navigator.clipboard.readText());
    if (!/^[−-]?\d+(\.\d+)? dBFS$/.test(copied)) throw new Error(`copied: ${JSON.stringify(copied)}`);

    // Files.
    const head = { "sources.csv": "source,into,verdict", "patch.csv": "channel,source", "options.csv": "price,what to do" };
    for (const [file, begin] of Object.entries(head)) {
      const answer = await page.request.get(`/cases/storyteller/${file}`);
      const table = await answer.text();
      equal(answer.headers()["content-type"], "text/csv; charset=utf-8", file);
      has(table.slice(0, begin.length), begin, file);
      const lines = table.trim().split("\r\n");
      if (lines.length < 2) throw new Error(`${file}: no rows`);
    }
    for (const file of ["levels.svg", "patch.svg", "options.svg"]) {
      const answer = await page.request.get(`/cases/storyteller/${file}`);
      has(await answer.text(), ".level-diagram text{", `${file} keeps its style`);
    }
    const answer = await page.request.get("/cases/quintet");
    const policy = answer.headers()["content-security-policy"];
    has(policy, "style-src 'self';", "the policy");
    if (policy.includes("unsafe")) throw new Error(policy);
    // And the picture is drawn with its rules all the same.
    await page.goto("/cases/quintet");
    const width = await page.$eval(".level-diagram .ceiling", (line) => getComputedStyle(line).strokeWidth);
    equal(width, "1.6px", "a ceiling's line");
    // By keyboard: the first stop leads to the text.
    await page.keyboard.press("Tab");
    equal(await page.evaluate(() => document.activeElement.className), "skip", "the first stop");
    await page.keyboard.press("Enter");
    equal(await page.evaluate(() => document.activeElement.id), "text", "where it leads");
  },
);
