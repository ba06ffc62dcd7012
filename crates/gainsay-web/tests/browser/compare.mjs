// Devices are chosen, compared, and tried in the same recording; the same without scripts.
import { equal, has, journey, settled, violations } from "./harness.mjs";

for (const javaScriptEnabled of [true, false]) {
  await journey(
    async (page) => {
      await page.goto("/gear");
      await page.check('input[value="kitchen-interface"]');
      await page.check('input[value="boathouse-interface"]');
      await settled(page, () => page.click("button:has-text('Compare')"));
      equal(await page.locator(".ranking").count(), 0, "rankings before anything is recorded");
      await page.selectOption("select[name=source]", "whisper");
      await page.selectOption("select[name=microphone]", "moving-coil-broadcast");
      await settled(page, () => page.click("button:has-text('Compare')"));
      // Their sheets differ by a decibel of EIN and less behind a microphone of 200 ohm: less than the smallest step in level that
      // is heard, about 1 dB (common practice, no source).
      has(await page.textContent("main"), "None of them can be heard apart", "the conclusion");
      equal(await page.locator(".ranking li").count(), 2, "devices in the ranking");
      has(await page.textContent(".ranking li >> nth=0"), "Kitchen interface", "the quieter one");
      has(await page.textContent(".ranking li >> nth=1"), "too little for anyone to hear", "the other one");
      equal(await page.inputValue("select[name=source]"), "whisper", "what is asked stays in the form");
      const file = await page.getAttribute('a:has-text("JSON")', "href");
      const data = await (await page.request.get(file)).json();
      equal(data.recording.recordings[0].name, "Kitchen interface, two microphone inputs", "the figures to keep");
      equal(data.recording.recordings[1].apart, "too-small", "how far they are apart");
      if (!javaScriptEnabled) return;
      const wrong = await violations(page);
      await page.setViewportSize({ width: 360, height: 800 });
      const over = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
      if (over > 0) wrong.push(`${over} px wider than the window`);
      if (wrong.length) throw new Error(wrong.join("\n"));
      // Devices that no case can take are refused with the reason, not with an error.
      await page.goto("/gear/compare?device=kitchen-interface&source=no-such-thing");
      has(await page.textContent("p.warn"), "no-such-thing", "a source that there is not");
    },
    { javaScriptEnabled },
  );
}
