// Pastes a specification, corrects it, keeps the device, and compares it with another.
import { equal, has, journey, settled, violations } from "./harness.mjs";

const sheet = `Two-channel microphone preamplifier
Specifications
Gain range: 10 dB to 64 dB
Equivalent input noise: -127 dBu
Maximum input level: +14 dBu
Input impedance: 2.4 kOhm
Frobnication: 12 dB
`;

await journey(
  async (page) => {
    await page.goto("/gear");
    await settled(page, () => page.click('a[href="/gear/sheet"]'));
    // A novel is no sheet, and stays in the field.
    await page.fill("#sheet-text", "It was late when they came to the boathouse, and nobody spoke.");
    await settled(page, () => page.click("button:has-text('Read it')"));
    has(await page.textContent("[role=alert]"), " ", "why it is no sheet");
    has(await page.inputValue("#sheet-text"), "boathouse", "what was pasted");

    await page.fill("#sheet-text", sheet);
    await settled(page, () => page.click("button:has-text('Read it')"));
    const read = await page.inputValue("#device-text");
    has(read, "−127 dBu", "the noise");
    const said = await page.textContent("main");
    has(said, "To doubt", "doubts");
    has(said, "Frobnication", "what is not understood");
    const wrong = await violations(page);
    if (wrong.length) throw new Error(wrong.join("\n"));

    // A slip in the correction is told with its line, and keeps the text.
    await page.fill("#device-text", read.replace("−127 dBu", "−127 dBx"));
    await page.fill("#device-name", "Two channels for the kitchen");
    await settled(page, () => page.click("button:has-text('Keep this device')"));
    has(await page.textContent("[role=alert]"), "line", "where it is wrong");
    has(await page.inputValue("#device-text"), "−127 dBx", "what was typed");
    await page.fill("#device-text", read.replace("−127 dBu", "−128 dBu"));
    await settled(page, () => page.click("button:has-text('Keep this device')"));
    equal(new URL(page.url()).pathname, "/gear/two-channels-for-the-kitchen/edit", "the device's page");

    // The same name is not taken twice.
    await page.goto("/gear/sheet");
    await page.fill("#sheet-text", sheet);
    await settled(page, () => page.click("button:has-text('Read it')"));
    await page.fill("#device-name", "Two channels for the kitchen");
    await settled(page, () => page.click("button:has-text('Keep this device')"));
    has(await page.textContent("[role=alert]"), "nothing is overwritten", "the name");

    await page.goto("/gear");
    await page.check('input[value="two-channels-for-the-kitchen"]');
    await page.check('input[value="kitchen-interface"]');
    await settled(page, () => page.click("button:has-text('Compare')"));
    const compared = await page.textContent("main");
    has(compared, "Two-channel microphone preamplifier", "the new device");
    equal(await page.locator("main svg").count(), 2, "the picture in two widths");
    const more = await violations(page);
    if (more.length) throw new Error(more.join("\n"));
    const picture = await page.request.get("/gear/compare?device=kitchen-interface&as=svg");
    has(await picture.text(), "<svg", "the picture to keep");
    const data = await (await page.request.get("/gear/compare?device=kitchen-interface&as=json")).json();
    equal(data[0].id, "kitchen-interface", "the figures to keep");
  },
  { mayComplain: true },
);
