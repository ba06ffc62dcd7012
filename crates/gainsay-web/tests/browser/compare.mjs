// Devices are chosen, compared, and tried in the same recording; the same without scripts.
import { equal, has, journey, settled, violations } from "./harness.mjs";

for (const javaScriptEnabled of [true, false]) {
  await journey(
    async (page) => {
      await page.goto("/gear");
      await page.check('input[value="kitchen-interface"]');
      await page.check('input[value="boathouse-interface"]');
      await settled(page, () => page.click("button:has-text('Compare what is ticked')"));
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
      const file = async (kind) => page.request.get(await page.getAttribute(`.keep a:has-text("${kind}")`, "href"));
      const data = await (await file("JSON")).json();
      equal(data.devices.length, 2, "devices in the figures to keep");
      equal(data.recording.recordings[0].name, "Kitchen interface, two microphone inputs", "the figures to keep");
      equal(data.recording.recordings[1].apart, "too-small", "how far they are apart");
      // Lines of the table end as RFC 4180 has it; the recording stands behind each device.
      const table = await file("CSV");
      equal(table.headers()["content-type"], "text/csv; charset=utf-8", "the table to keep");
      const lines = (await table.text()).split("\r\n");
      has(lines[0], "ein_150_ohm_dbu,ein_150_ohm_dbu_low", "the head of the table to keep");
      has(lines[0], ",verdict,apart", "the head of the table to keep");
      has(lines[1], "Kitchen interface", "the first row");
      has(await (await file("SVG")).text(), "<svg", "the picture to keep");
      // 150 ohm at 293.15 K over 19 980 Hz make 10 lg (4 · 1.380649e-23 · 293.15 · 150 · 19980 / 0.7746²) = −130.9 dBu (Nyquist 1928).
      equal(data.thermal_limit_150_ohm_dbu.toFixed(1), "-130.9", "the thermal limit beside the figures");
      equal(await page.locator("table.footing tbody tr").count(), 2, "rows side by side");

      // Where and how it is recorded can be said; what can't be is told of its field.
      await page.fill("input[name=distance]", "5 cm");
      await page.fill("input[name=room]", "loud");
      await settled(page, () => page.click("form.compare button"));
      has(await page.textContent("p.warn"), "Noise of the room", "what is wrong");
      await page.fill("input[name=room]", "NR 20");
      await settled(page, () => page.click("form.compare button"));
      equal(await page.locator("p.warn").count(), 0, "what is wrong then");

      // Devices that have nothing in common are told apart in a sentence.
      await page.goto("/gear/compare?device=kitchen-interface&device=moving-coil-broadcast");
      has(await page.textContent("[role=alert]"), "nothing in common", "why they are not compared");
      equal(await page.locator("table.footing").count(), 0, "tables of what has nothing in common");
      equal((await page.request.get("/gear/compare.csv?device=kitchen-interface&device=moving-coil-broadcast")).status(), 422, "its file");
      await settled(page, () => page.click("a:has-text('only the microphones')"));
      equal(await page.locator("table.footing tbody tr").count(), 1, "microphones that are left");
      // A microphone of the folder's own.
      const kept = await page.request.post("/gear/copy", { form: { of: "ribbon-figure-of-eight", name: `Our ribbon ${javaScriptEnabled}`, file: `ours-${javaScriptEnabled}` } });
      equal(kept.status(), 200, "a copy of a microphone");
      await page.goto("/gear/compare?device=kitchen-interface&device=boathouse-interface&source=whisper");
      await page.selectOption("select[name=microphone]", { label: `Our ribbon ${javaScriptEnabled}` });
      await settled(page, () => page.click("form.compare button"));
      equal(await page.locator(".ranking li").count(), 2, "devices behind a microphone of the folder's own");
      await page.goto("/gear/compare?device=kitchen-interface&source=whisper&microphone=boathouse-interface");
      has(await page.textContent("p.warn"), "is an interface: choose a microphone", "a microphone that is none");
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
