// What every test of a page needs: a headless Chromium, a page that is watched, a count of faults. CHROMIUM names another browser.
import { chromium } from "playwright-core";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { resolve } from "node:path";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
let faults = 0;

/** Says what is wrong; the test fails in the end. */
export const fault = (words) => { faults += 1; console.log("FAULT " + words); };

/** The browser; as root, too, and in a container. */
export const launch = () => chromium.launch({
  executablePath: process.env.CHROMIUM || "/usr/bin/chromium",
  args: ["--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"],
});

/** Address of a file. */
export const address = (path) => "file://" + resolve(path);

/**
 * A page that is watched from the beginning: nothing on its console, nothing fetched beyond `mayAsk`, layout shifts counted.
 * `look` is {width, height, scheme: "light" | "dark", script: bool}.
 */
export async function watched(browser, name, look = {}, mayAsk = /^(file|data|blob):/) {
  const context = await browser.newContext({
    viewport: { width: look.width ?? 1200, height: look.height ?? 900 },
    colorScheme: look.scheme ?? "light",
    javaScriptEnabled: look.script ?? true,
  });
  const page = await context.newPage();
  page.on("console", (m) => fault(`${name}: console: ${m.text()}`));
  page.on("pageerror", (e) => fault(`${name}: ${e}`));
  page.on("request", (r) => { if (!mayAsk.test(r.url())) fault(`${name}: asks for ${r.url()}`); });
  await page.addInitScript(() => {
    window.shifted = 0;
    new PerformanceObserver((l) => l.getEntries().forEach((e) => { window.shifted += e.value; })).observe({ type: "layout-shift", buffered: true });
  });
  return page;
}

/** No page wider than the screen. */
export async function fits(page, name) {
  const [wide, screen] = await page.evaluate(() => [document.documentElement.scrollWidth, window.innerWidth]);
  if (wide > screen) fault(`${name}: is ${wide} wide on a screen of ${screen}`);
}

/** Nothing has moved while it was loaded. */
export async function still(page, name) {
  const shifted = await page.evaluate(() => window.shifted);
  if (shifted > 0.01) fault(`${name}: shifts by ${shifted}`);
}

/** No serious fault by axe; lesser ones are noted. */
export async function accessible(page, name) {
  await page.evaluate(axe);
  const found = await page.evaluate(() => window.axe.run({ resultTypes: ["violations"] }));
  for (const v of found.violations) {
    const words = `${name}: axe ${v.impact} ${v.id}: ${v.nodes[0].html.slice(0, 120)}`;
    if (["serious", "critical"].includes(v.impact)) fault(words); else console.log("note " + words);
  }
}

/** Ends the program, with 1 where anything was wrong. */
export async function end(browser) {
  await browser.close();
  console.log(faults ? `${faults} faults` : "no fault");
  process.exit(faults ? 1 : 0);
}
