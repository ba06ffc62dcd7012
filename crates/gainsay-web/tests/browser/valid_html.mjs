// The markup of pages by a validator of its own (html-validate, the rules of the HTML standard).
import { createRequire } from "node:module";
import { site } from "./harness.mjs";

const require = createRequire(`${process.env.GAINSAY_NODE_MODULES ?? import.meta.dirname}/package.json`);
const { HtmlValidate } = require("html-validate");
const validator = new HtmlValidate({
  extends: ["html-validate:standard"],
  // Formatting is nobody's business here; long titles are the case's own.
  rules: { "no-trailing-whitespace": "off", "long-title": "off", "void-style": "off" },
});
const faults = [];
const pages = process.argv.slice(3);
for (const page of pages) {
  const response = await fetch(site + page);
  const report = await validator.validateString(await response.text(), page);
  for (const result of report.results)
    for (const message of result.messages) faults.push(`${page}:${message.line}:${message.column}: ${message.ruleId}: ${message.message}`);
}
console.log(`${pages.length} pages`);
if (faults.length) throw new Error(`${faults.length} faults:\n${faults.join("\n")}`);
