// Pastes a sheet, looks it over, corrects it, keeps the device, and compares it with another.
import { equal, has, journey, settled, violations } from "./harness.mjs";

// 150 ohm at 20 °C make −130.9 dBu in 20 kHz: 20 lg (sqrt(4 · 1.380649e-23 · 293.15 · 150 · 20000) / 0.7746) (Johnson 1928,
// Nyquist 1928; the constant by the SI). −138 dBu of a whole preamp can't be true, and the page has to say so.
const sheet = [
  "Desk preamp with four channels",
  "Gain: +10 to +65 dB",
  "EIN: -138 dBu (150 ohm, unweighted, 20 Hz - 20 kHz)",
  "Maximum input level: +12 dBu",
  "Input impedance: 2.5 kohm",
  "Frobnication: 12 dB",
].join("\n");
const value = (path) => `input[name="value ${path}"]`;
const keep = "button:has-text('Keep this device')";
const readIt = "button:has-text('Read it')";

for (const javaScriptEnabled of [true, false]) {
  await journey(
    async (page) => {
      const name = javaScriptEnabled ? "with-scripts" : "without-scripts";
      await page.goto("/gear");
      await settled(page, () => page.click('a[href="/gear/sheet"]'));
      await page.fill("textarea", sheet);
      await settled(page, () => page.click(readIt));
      equal(await page.inputValue("textarea"), sheet, "the pasted text");
      const said = await page.textContent("main");
      has(said, "Read as a preamp", "what it is");
      has(said, "EIN: -138 dBu", "the words that a figure was read from");
      has(said, "Nyquist 1928", "the doubt with what stands behind it");
      has(said, "Frobnication", "what is not understood");
      equal(await page.inputValue(value("microphone_inputs.gain_range")), "55 dB", "65 dB less 10 dB");
      equal(await page.isChecked('input[name="use microphone_inputs.ein"]'), false, "whether an EIN below thermal noise is used");
      equal(await page.isChecked('input[name="use microphone_inputs.gain_range"]'), true, "whether a gain is used");
      if (javaScriptEnabled) {
        const wrong = await violations(page);
        await page.setViewportSize({ width: 360, height: 800 });
        const over = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
        if (over > 0) wrong.push(`${over} px wider than the window`);
        if (wrong.length) throw new Error(wrong.join("\n"));
      }
      // A slip in a correction is told, and stays in its field.
      const ein = value("microphone_inputs.ein");
      await page.check('input[name="use microphone_inputs.ein"]');
      await page.uncheck('input[name="use microphone_inputs.input_impedance"]');
      await page.fill("input[name=file]", name);
      await page.fill(ein, "-128 dBq");
      await settled(page, () => page.click(keep));
      has(await page.textContent("[role=alert]"), "Microphone inputs, ein", "where it is wrong");
      equal(await page.inputValue(ein), "-128 dBq", "what was typed");
      // Corrected; another figure dropped; kept.
      await page.fill(ein, "-128 dBu (150 Ω, 20 Hz to 20 kHz)");
      await settled(page, () => page.click(keep));
      has(new URL(page.url()).pathname, `/gear/${name}`, "the page of the device");
      await page.goto(`/gear/${name}/file`);
      const file = await page.inputValue("textarea");
      has(file, 'value = "−128 dBu (150 Ω, 20 Hz to 20 kHz', "the correction in the file");
      has(file, "corrected by hand", "that it was corrected");
      has(file, "EIN: -138 dBu", "the words of the sheet in the file");
      equal(/^input_impedance/m.test(file), false, "whether what was dropped stands in the file");
      // The same name again: nothing is overwritten, another is proposed.
      await page.goto("/gear/sheet");
      await page.fill("textarea", sheet.replace("+12 dBu", "+15 dBu"));
      await settled(page, () => page.click(readIt));
      await page.fill("input[name=file]", name);
      await settled(page, () => page.click(keep));
      has(await page.textContent("[role=alert]"), "nothing is overwritten", "a name that is taken");
      equal(await page.inputValue("input[name=file]"), `${name}-2`, "the name that is proposed");
      await page.goto(`/gear/${name}/file`);
      equal(await page.inputValue("textarea"), file, "the file that was there");
    },
    { javaScriptEnabled, mayComplain: true },
  );
}

await journey(
  async (page) => {
    // What is no sheet is said to be none, and stays in the field. The last is more than a sheet can have.
    for (const [text, why] of [
      ["   ", "empty"],
      ["%PDF-1.7\n1 0 obj", "PDF"],
      ["It was late when they came to the boathouse, and nobody spoke.\n".repeat(3000), "reads like the specification"],
      [`${"word ".repeat(9)}\n`.repeat(24000), "too large"],
    ]) {
      await page.goto("/gear/sheet");
      // Typing a megabyte takes the driver longer than it may.
      await page.$eval("textarea", (field, text) => (field.value = text), text);
      await settled(page, () => page.click(readIt));
      has(await page.textContent("[role=alert]"), why, `what is said of ${text.slice(0, 20)}`);
      if ((await page.inputValue("textarea")) !== text) throw new Error(`${why}: the text is not in the field any more`);
    }

    await page.goto("/gear");
    await page.check('input[value="with-scripts"]');
    await page.check('input[value="kitchen-interface"]');
    await settled(page, () => page.click("button:has-text('Compare what is ticked')"));
    const compared = await page.textContent("main");
    has(compared, "Desk preamp with four channels", "the new device");
    equal(await page.locator("main svg").count(), 2, "the picture in two widths");
    const more = await violations(page);
    if (more.length) throw new Error(more.join("\n"));
    const picture = await page.request.get("/gear/compare.svg?device=kitchen-interface");
    has(await picture.text(), "<svg", "the picture to keep");
    const data = await (await page.request.get("/gear/compare.json?device=kitchen-interface")).json();
    equal(data.devices[0].id, "kitchen-interface", "the figures to keep");
  },
  { mayComplain: true },
);
