// A report as who is handed it sees it: in light and dark, on a telephone, on paper.

import { pathToFileURL } from "node:url";
import { accessible, browser, holds } from "./browser.mjs";

const [executable, file] = process.argv.slice(2);
const chrome = await browser(executable);

for (const colorScheme of ["light", "dark"]) {
  const context = await chrome.newContext({ viewport: { width: 1440, height: 900 }, colorScheme });
  const page = await context.newPage();
  const asked = [];
  page.on("request", (request) => asked.push(request.url()));
  await page.goto(pathToFileURL(file).href);
  holds(asked.length === 1, `it needs nothing from elsewhere: ${asked}`);
  holds((await page.locator("script").count()) === 0, "it has no script");

  await accessible(page, colorScheme);

  await page.setViewportSize({ width: 360, height: 740 });
  const wide = await page.evaluate(() =>
    [...document.querySelectorAll("body *")]
      .filter((e) => e.getBoundingClientRect().right > innerWidth + 1 && !e.closest("svg, .drawing"))
      .map((e) => e.outerHTML.slice(0, 80)),
  );
  holds(!wide.length, `wider than a telephone: ${wide.slice(0, 3)}`);
  await context.close();
}

// On paper: drawing and headline on the first page, and as many pages on either paper, give or take what differs in height.
const page = await chrome.newPage();
await page.goto(pathToFileURL(file).href);
const pages = [];
for (const format of ["A4", "Letter"]) {
  const printed = (await page.pdf({ format, preferCSSPageSize: false })).toString("latin1");
  pages.push((printed.match(/\/Type\s*\/Page\b(?!s)/g) ?? []).length);
}
holds(pages.every((count) => count > 5 && count < 60), `pages on A4 and Letter: ${pages}`);
holds(Math.abs(pages[0] - pages[1]) <= 4, `pages on A4 and Letter: ${pages}`);
await chrome.close();
console.log(`the report is fit for people and paper: ${pages} pages on A4 and Letter`);
