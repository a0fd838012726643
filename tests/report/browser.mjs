// Reports in headless Chromium. Arguments: reports of one page, and folders of pages; of each folder the index is looked at, and some pages.
import { existsSync, readFileSync, readdirSync, statSync } from "node:fs";
import { join } from "node:path";
import { accessible, address, end, fault, fits, launch, still, watched } from "../browser.mjs";

const LOOKS = [{ width: 1200, scheme: "light" }, { width: 390, scheme: "dark" }, { width: 390, scheme: "light", script: false }];
const browser = await launch();

/** One page, as screens of all kinds show it. */
async function lookAt(path) {
  for (const look of LOOKS) {
    const name = `${path} ${look.width} ${look.scheme}${look.script === false ? " without script" : ""}`;
    const page = await watched(browser, name, look);
    await page.goto(address(path));
    await fits(page, name);
    if (!await page.$("#cautions")) fault(`${name}: has no cautions`);
    if (look.script !== false) {
      if (await page.evaluate(() => window.obeyed)) fault(`${name}: obeys what stood in a file`);
      if (await page.$(".pane")) await keys(page, name);
      await still(page, name);
      await accessible(page, name);
    }
    console.log("looked at " + name);
    await page.context().close();
  }
}

/** Plus zooms, arrows move, 0 shows all; buttons do the same. */
async function keys(page, name) {
  const box = () => page.$eval(".pane svg.drawing", (s) => s.getAttribute("viewBox"));
  await page.focus(".pane");
  const whole = await box();
  await page.keyboard.press("+");
  const zoomed = await box();
  await page.keyboard.press("ArrowRight");
  const moved = await box();
  await page.keyboard.press("0");
  if (zoomed === whole || moved === zoomed || await box() !== whole) fault(`${name}: keys do not zoom and move`);
  await page.click(".pane .tools button >> nth=0");
  const larger = await box();
  await page.click(".pane .tools button >> nth=2");
  if (larger === whole || await box() !== whole) fault(`${name}: buttons do not zoom`);
}

/** Every link of every page leads to a page and an anchor that are there, and the index finds. */
async function folder(path) {
  const pages = readdirSync(path);
  const text = Object.fromEntries(pages.map((p) => [p, readFileSync(join(path, p), "utf8")]));
  let links = 0;
  for (const p of pages) {
    for (const [, to] of text[p].matchAll(/<a [^>]*href="([^"]+)"/g)) {
      const [file, anchor] = to.split("#");
      const there = file ? text[file] : text[p];
      links += 1;
      if (there === undefined || (anchor && !there.includes(`id="${anchor}"`))) fault(`${path}/${p}: ${to} leads nowhere`);
    }
  }
  console.log(`${path}: ${pages.length} pages, ${links} links followed`);
  const name = path + " index";
  const page = await watched(browser, name);
  const began = Date.now();
  await page.goto(address(join(path, "index.html")));
  const opened = Date.now() - began;
  const items = page.locator(".contents li:visible");
  const all = await items.count();
  if (all !== pages.length - 1) fault(`${name}: lists ${all} of ${pages.length - 1} pages`);
  const last = (await items.last().textContent()).split(",")[0];
  await page.fill("#finder input", last.toLowerCase());
  const found = await items.count();
  if (found < 1 || found >= all) fault(`${name}: finds ${found} of ${all}`);
  await items.first().locator("a").first().click();
  await page.waitForSelector("nav[aria-label=Pages]");
  const took = await page.evaluate(() => performance.getEntriesByType("navigation")[0].domComplete);
  console.log(`${name}: opened in ${opened} ms, the page behind it in ${Math.round(took)} ms`);
  if (opened > 3000 || took > 3000) fault(`${name}: opens too slowly`);
  await page.context().close();
  const heaviest = [...pages].sort((a, b) => text[b].length - text[a].length)[0];
  for (const p of new Set(["index.html", heaviest])) await lookAt(join(path, p));
}

for (const path of process.argv.slice(2)) {
  if (!existsSync(path)) fault(`${path} is not there`);
  else if (statSync(path).isDirectory()) await folder(path);
  else await lookAt(path);
}
if (process.argv.length < 3) fault("no report given");
await end(browser);
