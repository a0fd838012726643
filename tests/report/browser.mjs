// A report in headless Chromium: nothing on the console, nothing fetched, no serious fault by axe, no page wider than the
// screen, keys that zoom and move, and the same page without its script. Paths of reports as arguments.
import { createRequire } from "node:module";
import { readFileSync } from "node:fs";
import { resolve } from "node:path";

const require = createRequire(process.env.NODE_FOLDER + "/");
const puppeteer = require("puppeteer-core");
const axe = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");
let faults = 0;
const fault = (words) => { faults += 1; console.log("FAULT " + words); };

const browser = await puppeteer.launch({ executablePath: process.env.CHROMIUM || "/usr/bin/chromium", args: ["--no-sandbox", "--disable-gpu"] });
for (const path of process.argv.slice(2)) {
  for (const [width, scheme, script] of [[1200, "light", true], [390, "dark", true], [390, "light", false]]) {
    const name = `${path} ${width} ${scheme}${script ? "" : " without script"}`;
    const page = await browser.newPage();
    page.on("console", (m) => fault(`${name}: console: ${m.text()}`));
    page.on("pageerror", (e) => fault(`${name}: ${e}`));
    page.on("request", (r) => { if (!/^(file|data):/.test(r.url())) fault(`${name}: asks for ${r.url()}`); });
    await page.setViewport({ width, height: 900 });
    await page.emulateMediaFeatures([{ name: "prefers-color-scheme", value: scheme }]);
    await page.setJavaScriptEnabled(script);
    // Counts every shift from the beginning.
    await page.evaluateOnNewDocument(() => {
      window.shifted = 0;
      new PerformanceObserver((l) => l.getEntries().forEach((e) => { window.shifted += e.value; })).observe({ type: "layout-shift", buffered: true });
    });
    await page.goto("file://" + resolve(path));
    const wide = await page.evaluate(() => document.documentElement.scrollWidth);
    if (wide > width) fault(`${name}: is ${wide} wide`);
    if (await page.$("svg.drawing") === null) fault(`${name}: has no drawing`);
    if (script) {
      await page.focus(".pane");
      const box = () => page.$eval(".pane svg.drawing", (s) => s.getAttribute("viewBox"));
      const whole = await box();
      await page.keyboard.press("+");
      const zoomed = await box();
      await page.keyboard.press("ArrowRight");
      const moved = await box();
      await page.keyboard.press("0");
      if (zoomed === whole || moved === zoomed || await box() !== whole) fault(`${name}: keys do not zoom and move`);
      const shifted = await page.evaluate(() => window.shifted);
      if (shifted > 0.01) fault(`${name}: shifts by ${shifted}`);
      await page.evaluate(axe);
      const found = await page.evaluate(() => window.axe.run({ resultTypes: ["violations"] }));
      for (const v of found.violations) {
        const words = `${name}: axe ${v.impact} ${v.id}: ${v.nodes[0].html.slice(0, 120)}`;
        if (["serious", "critical"].includes(v.impact)) fault(words); else console.log("note " + words);
      }
    }
    console.log("looked at " + name);
    await page.close();
  }
}
await browser.close();
if (process.argv.length < 3) fault("no report given");
process.exit(faults ? 1 : 0);
