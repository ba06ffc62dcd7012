// Every page that links lead to: answers, no accessibility violation in light and dark, nothing wider than the window.
import { journey, violations } from "./harness.mjs";

const wrong = [];
for (const [scheme, width] of [["light", 1200], ["dark", 1200], ["light", 360]]) {
  await journey(
    async (page) => {
      const todo = ["/"];
      const seen = new Set(todo);
      while (todo.length) {
        const address = todo.shift();
        const response = await page.goto(address);
        const what = `${address} (${scheme}, ${width} px)`;
        if (response.status() !== 200) wrong.push(`${what}: status ${response.status()}`);
        for (const violation of await violations(page)) wrong.push(`${what}: ${violation}`);
        // The policy forbids styles in the markup.
        if (/<style|\sstyle=/.test(await response.text())) wrong.push(`${what}: a style in the markup`);
        const over = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
        if (over > 0) wrong.push(`${what}: ${over} px wider than the window`);
        const links = await page.$$eval("a[href]", (all) => all.map((a) => [a.href, a.hasAttribute("download")]));
        for (const [href, isFile] of links) {
          const to = new URL(href);
          if (to.host !== new URL(page.url()).host) continue;
          const path = to.pathname + to.search;
          if (seen.has(path) || isFile) continue;
          seen.add(path);
          if (/\.(svg|json|csv|toml)$/.test(to.pathname)) {
            const file = await page.request.get(path);
            if (file.status() !== 200) wrong.push(`${path}: status ${file.status()}`);
          } else {
            todo.push(path);
          }
        }
      }
      console.log(`${seen.size} addresses, ${scheme}, ${width} px`);
    },
    { colorScheme: scheme, viewport: { width, height: 800 } },
  );
}
if (wrong.length) throw new Error(`${wrong.length} faults:\n${wrong.join("\n")}`);
