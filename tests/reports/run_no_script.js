// Opens pages in one headless Chromium and tells what they did by themselves.
// node run_no_script.js CHROMIUM FILE...   prints [{file, ran, dialogs, asked, moved, text}], one for each file:
// window.__ran, dialogs, what was asked for beside the file itself, whether the page went elsewhere, its text.
"use strict";
const { pathToFileURL } = require("url");
const { chromium } = require("playwright-core");

const FLAGS = ["--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
  "--disable-component-update", "--disable-sync"];

(async () => {
  const [executablePath, ...files] = process.argv.slice(2);
  const browser = await chromium.launch({ executablePath, args: FLAGS });
  const told = [];
  for (const file of files) {
    const page = await browser.newPage();
    const here = pathToFileURL(file).href, asked = [];
    let dialogs = 0;
    page.on("dialog", (dialog) => { dialogs += 1; dialog.dismiss(); });
    page.on("request", (request) => {
      if (request.url() !== here && !request.url().startsWith("data:")) asked.push(request.url());
    });
    await page.goto(here);
    await page.waitForTimeout(300);
    const ran = await page.evaluate(() => typeof window.__ran);
    const text = await page.evaluate(() => document.body.innerText);
    told.push({ file, ran, dialogs, asked, moved: page.url() !== here, text });
    await page.close();
  }
  await browser.close();
  process.stdout.write(JSON.stringify(told));
})().catch((trouble) => { console.error(trouble); process.exit(1); });
