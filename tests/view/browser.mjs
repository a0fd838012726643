// Maps in headless Chromium. Arguments: NAME=ADDRESS, NAME being plan, check or hostile.
import { accessible, end, fault, fits, launch, watched } from "../browser.mjs";

const LOOKS = [{ width: 1300, scheme: "light" }, { width: 1300, scheme: "dark" }, { width: 390, scheme: "light" }];
const browser = await launch();

/** Waits until the map has been drawn once more than `before`. */
const drawn = (page, before) => page.waitForFunction((n) => Number(document.getElementById("map").dataset.drawn || 0) > n, before);
const times = (page) => page.$eval("#map", (m) => Number(m.dataset.drawn || 0));

/** What is done moves the map, which then is drawn anew. */
async function moves(page, name, what, act) {
  const before = await times(page);
  await act();
  await drawn(page, before).catch(() => fault(`${name}: ${what} does not move the map`));
}

/** A bore chosen in any way has its page beside the map, with the focus at its head. */
async function chosen(page, name, planned) {
  await page.waitForFunction(() => document.activeElement && document.activeElement.matches("#detail h2"))
    .catch(() => fault(`${name}: the bore's head has not the focus`));
  const parts = planned ? ["svg.section", "article.drive", ".figures", "table"] : [".remind"];
  for (const part of parts) if (!await page.$(`#detail ${part}`)) fault(`${name}: the bore has no ${part}`);
  if (await page.$("#bores a[aria-current]") === null) fault(`${name}: the list does not say which bore is chosen`);
  return page.textContent("#detail h2");
}

/** From the list by the keyboard alone, and back to it. */
async function byKeys(page, name, planned) {
  await page.focus("#find");
  for (let i = 0; i < 3; i += 1) await page.keyboard.press("Tab");
  const id = await page.evaluate(() => document.activeElement.matches("#bores a[data-fid]") && document.activeElement.textContent);
  if (!id) return fault(`${name}: the list is not reached by the keyboard`);
  await page.keyboard.press("Enter");
  const head = await chosen(page, name + " by keys", planned);
  if (head !== `Bore ${id}`) fault(`${name}: ${id} chosen, ${head} shown`);
  await page.keyboard.press("Escape");
  if (!await page.evaluate(() => document.activeElement.matches("#bores a[aria-current]"))) fault(`${name}: Escape does not lead back to the list`);
  await page.focus("#map");
  for (const key of ["+", "ArrowRight", "ArrowUp", "-", "0"]) await moves(page, name, `key ${key}`, () => page.keyboard.press(key));
}

/** On the map, by its line. A sign of the same bore may lie above it. */
async function byPointer(page, name, planned) {
  const at = await page.evaluate(() => {
    const map = document.getElementById("map").getBoundingClientRect();
    for (const path of document.querySelectorAll("#map path.hit")) {
      for (let share = 0.1; share < 0.95; share += 0.05) {
        const p = path.getPointAtLength(path.getTotalLength() * share).matrixTransform(path.getScreenCTM());
        const inside = p.x > map.left && p.x < map.right && p.y > map.top && p.y < Math.min(map.bottom, window.innerHeight);
        if (inside && document.elementFromPoint(p.x, p.y) === path) return [p.x, p.y];
      }
    }
    return null;
  });
  if (!at) return fault(`${name}: no bore can be pointed at`);
  await page.mouse.click(...at);
  await chosen(page, name + " by pointer", planned);
}

/** Signs are there, launch and reception told apart, and the key explains every verdict. */
async function signs(page, name, planned) {
  const parts = planned ? [".pit.launch", ".pit.reception", ".v.prove", ".hole", ".flow", ".leader"] : [".v.prove", ".hole", ".flow"];
  for (const part of parts) if (!await page.$(`#map ${part}`)) fault(`${name}: no ${part} on the map`);
  const numbers = await page.$$eval("#map .holeno", (all) => all.map((t) => t.textContent));
  if (!numbers.includes("1")) fault(`${name}: test holes are not numbered`);
  const key = await page.textContent(".key");
  for (const word of ["clash", "prove", "watch", "clear by the records", "launch pit", "reception pit"]) {
    if (!key.includes(word)) fault(`${name}: the key does not say ${word}`);
  }
}

async function lookAt(name, address) {
  const planned = name !== "check";
  for (const look of LOOKS) {
    const here = `${name} ${look.width} ${look.scheme}`;
    const page = await watched(browser, here, look, new RegExp("^(data:|" + address.replaceAll(".", "\\.") + ")"));
    await page.goto(address);
    await drawn(page, 0);
    await fits(page, here);
    if (!(await page.textContent("#cautions")).includes("located and exposed before boring")) fault(`${here}: has no cautions`);
    if (await page.textContent("#told")) fault(`${here}: tells of ${await page.textContent("#told")}`);
    await signs(page, here, planned);
    await byPointer(page, here, planned);
    await byKeys(page, here, planned);
    await fits(page, here + " with a bore");
    await accessible(page, here);
    if (await page.evaluate(() => window.obeyed)) fault(`${here}: obeys what stood in a file`);
    console.log("looked at " + here);
    await page.context().close();
  }
}

/** Every tooltip and every bore of a file whose values want to be obeyed. */
async function hostile(name, address) {
  const page = await watched(browser, name, {}, new RegExp("^(data:|" + address.replaceAll(".", "\\.") + ")"));
  await page.goto(address);
  await drawn(page, 0);
  for (const sign of await page.$$("#map .leaflet-interactive")) await sign.dispatchEvent("mouseover");
  let said = "";
  for (const link of await page.$$("#bores a[data-fid]")) {
    await link.click();
    await chosen(page, name, true);
    said += await page.textContent("#detail");
  }
  for (const words of ["window.obeyed=1</script>", "x".repeat(40), "drawkcab"]) {
    if (!said.includes(words)) fault(`${name}: ${words} is not shown`);
  }
  if (await page.evaluate(() => window.obeyed)) fault(`${name}: obeys what stood in a file`);
  if (await page.$("img, #detail script, #bores script")) fault(`${name}: has made elements of what stood in a file`);
  console.log("looked at every bore of " + name);
  await page.context().close();
}

/** Without its script the list and the pages of bores are there. */
async function withoutScript(name, address) {
  const here = name + " without script";
  const page = await watched(browser, here, { script: false }, new RegExp("^(data:|" + address.replaceAll(".", "\\.") + ")"));
  await page.goto(address);
  await page.click("#bores a[data-fid] >> nth=0");
  if (!await page.$("svg.section")) fault(`${here}: a bore has no section`);
  await fits(page, here);
  console.log("looked at " + here);
  await page.context().close();
}

for (const [name, address] of process.argv.slice(2).map((a) => a.split(/=(.*)/s))) {
  await lookAt(name, address);
  if (name === "hostile") await hostile(name, address);
  if (name === "plan") await withoutScript(name, address);
}
if (process.argv.length < 5) fault("three maps are to be looked at");
await end(browser);
