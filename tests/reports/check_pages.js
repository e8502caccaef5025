// Checks pages in one headless Chromium: axe-core for WCAG 2.2 AA, reflow at 320 px, and what axe does not ask for.
// node check_pages.js CHROMIUM FILE...   prints [{file, scheme, violations, reflow, own}], one for each file and scheme.
"use strict";
const fs = require("fs");
const { pathToFileURL } = require("url");
const { chromium } = require("playwright-core");

const AXE = fs.readFileSync(require.resolve("axe-core"), "utf8");
const TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"];
const FLAGS = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
  "--disable-background-networking", "--disable-component-update", "--disable-sync"];

function own() {
  const found = [];
  if (document.querySelectorAll("h1").length !== 1) found.push("not one h1");
  let before = 0;
  for (const heading of document.querySelectorAll("h1,h2,h3,h4,h5,h6")) {
    const level = Number(heading.tagName[1]);
    if (level > before + 1) found.push("a level of headings is skipped: " + heading.textContent.slice(0, 40));
    before = level;
  }
  for (const table of document.querySelectorAll("table")) {
    const told = table.caption ? table.caption.textContent : table.getAttribute("aria-label");
    if (!told || !told.trim()) found.push("a table without caption");
    for (const head of table.querySelectorAll("th")) if (!head.hasAttribute("scope")) found.push("a th without scope");
  }
  return [...new Set(found)];
}

(async () => {
  const [executablePath, ...files] = process.argv.slice(2);
  const browser = await chromium.launch({ executablePath, args: FLAGS });
  const told = [];
  for (const colorScheme of ["light", "dark"]) {
    const context = await browser.newContext({ colorScheme, viewport: { width: 1000, height: 1200 } });
    for (const file of files) {
      const page = await context.newPage();
      await page.goto(pathToFileURL(file).href);
      await page.evaluate(AXE);
      const axe = await page.evaluate((tags) => window.axe.run(document, { runOnly: { type: "tag", values: tags } }), TAGS);
      const asked = await page.evaluate(own);
      await page.setViewportSize({ width: 320, height: 800 });
      const wide = await page.evaluate(() => document.documentElement.scrollWidth);
      told.push({ file, scheme: colorScheme, passes: axe.passes.length, own: asked, reflow: wide,
        violations: axe.violations.map((one) => ({ id: one.id, where: one.nodes.map((node) => node.html.slice(0, 160)) })) });
      await page.close();
    }
    await context.close();
  }
  await browser.close();
  process.stdout.write(JSON.stringify(told));
})().catch((trouble) => { console.error(trouble); process.exit(1); });
