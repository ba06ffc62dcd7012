// On paper: no navigation, no buttons, black on white, pictures whole.
import { equal, journey } from "./harness.mjs";

await journey(
  async (page) => {
    await page.emulateMedia({ media: "print", colorScheme: "dark" });
    for (const address of ["/", "/cases/quintet", "/cases/quintet/patch", "/cases/storyteller-pocket-recorder/options", "/cases/storyteller/sources/1", "/gear/kitchen-interface"]) {
      await page.goto(address);
      for (const hidden of ["header", "nav", "button", "form", "summary", ".keep", ".skip"]) {
        for (const element of await page.$$(hidden)) {
          if (await element.isVisible()) throw new Error(`${address}: ${hidden} is on paper`);
        }
      }
      const colours = await page.evaluate(() => [getComputedStyle(document.documentElement).backgroundColor, getComputedStyle(document.querySelector("h1")).color]);
      equal(colours.join(), "rgb(255, 255, 255),rgb(0, 0, 0)", `${address}: black on white`);
      // An A4 page with margins of 1 cm is 718 px wide and 1047 px high (96 px an inch).
      await page.setViewportSize({ width: 718, height: 1047 });
      for (const picture of await page.$$(".picture svg")) {
        if (!(await picture.isVisible())) continue;
        const box = await picture.boundingBox();
        if (box.width > 718 || box.height > 1047) throw new Error(`${address}: a picture of ${box.width} × ${box.height} px is cut`);
      }
      const pdf = await page.pdf({ format: "A4", margin: { top: "1cm", bottom: "1cm", left: "1cm", right: "1cm" } });
      if (pdf.subarray(0, 5).toString() !== "%PDF-") throw new Error(`${address}: no PDF`);
    }
  },
);
