// Drives the workbench as a user would. Called with the program, the browser and the examples' folder; what fails is told
// and ends with 1. With SHOTS=folder it also writes pictures of the main states; with ONLY=words it does those checks alone
// whose names have them.

import { readFile, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { accessible, browser, holds, open, page, settled, workshop } from "./browser.mjs";

const [program, executable, examples] = process.argv.slice(2);
// Of laminated iron: a field in time is not what is tried here.
const demo = (await readFile(join(examples, "gantry-pot.sheet.toml"), "utf8"))
  .replace("[body]", "[body]\nlaminated = true")
  .replace("[workpiece] ", "[workpiece]\nlaminated = true\n# ");
const shots = process.env.SHOTS;

const shop = await workshop("pot.sheet.toml", demo);
const chrome = await browser(executable);
let server = await open(program, shop.folder, "pot.sheet.toml");

const text = (page) => page.locator("#text").inputValue();
const pull = (page) => page.locator('#figures [data-of="pull"]').textContent();
const dimension = (page, path) => page.locator(`#drawing .size[data-path="${path}"]`);

/** Waits until the pull is settled: it is the first to be. */
const pulled = (page) =>
  page.waitForFunction(() => document.querySelector('#figures:not([data-stale]) [data-of="pull"][data-si]'), null, { timeout: 60_000 });

const checks = {
  async "every part is answered, and nothing goes wrong unheard"(at) {
    await settled(at);
    for (const id of ["pull", "field", "winding", "heat", "headroom", "switch", "audit"]) {
      holds((await at.locator(`#${id}`).getAttribute("data-answered")) === "yes", `${id} is answered`);
    }
    holds((await at.locator("[data-stale]").count()) === 0, "nothing is stale");
    const weight = await at.evaluate(() =>
      performance.getEntriesByType("resource").filter((e) => e.name.includes("/assets/")).reduce((sum, e) => sum + e.encodedBodySize, 0));
    holds(weight < 300_000, `assets of ${weight} bytes`);
    const paint = await at.evaluate(() => performance.getEntriesByName("first-contentful-paint")[0].startTime);
    console.log(`   first paint ${paint.toFixed(0)} ms, assets ${(weight / 1000).toFixed(0)} kB`);
  },

  async "it is accessible in light and dark"(at) {
    await accessible(at, "light");
    await at.emulateMedia({ colorScheme: "dark" });
    await accessible(at, "dark");
    await at.emulateMedia({ colorScheme: "light" });
  },

  async "a slider moves number and picture at once, and they settle"(at) {
    const before = [await pull(at), await at.locator("#flux path").first().getAttribute("d"), await at.locator("#drawing svg").innerHTML()];
    const slider = at.locator("#slider-workpiece-gap");
    await slider.focus();
    const times = [];
    for (let press = 0; press < 12; press += 1) {
      await at.evaluate(() => {
        let start = 0;
        document.addEventListener("input", () => (start = performance.now()), { once: true, capture: true });
        window.shown = new Promise((resolve) => {
          new MutationObserver((_, all) => {
            all.disconnect();
            resolve(performance.now() - start);
          }).observe(document.querySelector('#figures [data-of="pull"]'), { childList: true, characterData: true, subtree: true });
        });
      });
      await at.keyboard.press("ArrowRight");
      times.push(await at.evaluate(() => window.shown));
      await at.waitForTimeout(120);
    }
    times.sort((a, b) => a - b);
    console.log(`   slider to new pull: ${times[6].toFixed(0)} ms median, ${times[11].toFixed(0)} ms at most of 12`);
    holds(times[6] < 1500, `slow: ${times}`);
    const quick = at.locator('#figures [data-of="pull"]');
    holds((await quick.getAttribute("data-quick")) === "yes", "it is visibly not settled");
    holds((await text(at)) === demo, "the sheet is as it was");
    await pulled(at);
    const after = [await pull(at), await at.locator("#flux path").first().getAttribute("d"), await at.locator("#drawing svg").innerHTML()];
    after.forEach((now, k) => holds(now !== before[k], `part ${k} follows`));
    holds((await at.locator("#verdict .question").textContent()).includes("workpiece.gap="), "it is said what is otherwise");
    await at.getByRole("button", { name: "gap as in the sheet" }).click();
    await settled(at);
    holds((await pull(at)) === before[0], "back again, and known already");
  },

  async "another number becomes a slider, and is written into the sheet"(at) {
    await at.locator(".more select").selectOption("winding.resistance");
    const slider = at.locator("#slider-winding-resistance");
    await slider.focus();
    await at.keyboard.press("ArrowLeft");
    await at.getByRole("button", { name: "Write winding: resistance into the sheet" }).click();
    await at.waitForFunction(() => /resistance = "[0-9.]+ Ω ± 0.5 %" {11}# multimeter/.test(document.getElementById("text").value));
    await at.locator("#undo").click();
    holds((await text(at)) === demo, "undone");
  },

  async "a wrong unit is told at its line, and undone"(at) {
    const area = at.locator("#text");
    await area.focus();
    const line = demo.split("\n").findIndex((line) => line.startsWith("height")) + 1;
    await at.evaluate(() => {
      const area = document.getElementById("text");
      const from = area.value.indexOf("35.0 mm") + 5;
      area.setSelectionRange(from, from + 2);
    });
    await at.keyboard.type("volts");
    const told = at.locator("#diagnostics li").first();
    await told.waitFor();
    holds((await told.textContent()).startsWith(`line ${line}`), await told.textContent());
    holds((await at.locator(`#gutter .fault`).textContent()) === String(line), "the line is marked");
    if (shots) await at.screenshot({ path: join(shots, "fault.png") });
    await at.keyboard.press("Control+z");
    await at.waitForFunction(() => !document.querySelector("#diagnostics li"));
    holds((await text(at)) === demo, "undone");
    await at.keyboard.press("Control+Shift+z");
    holds((await text(at)).includes("35.0 volts"), "done again");
    await at.keyboard.press("Control+z");
  },

  async "a dimension is typed over, moved by keys and dragged"(at) {
    await dimension(at, "body.height").locator("text").click();
    const field = at.locator("#drawing input.over");
    await field.fill("36 volts");
    await field.press("Enter");
    await at.locator("#hint.wrong").waitFor();
    await field.fill("36.0 mm ± 0.1 mm");
    await field.press("Enter");
    await at.waitForFunction(() => document.getElementById("text").value.includes('height = "36.0 mm ± 0.1 mm"'));
    await dimension(at, "body.outer_diameter").focus();
    await at.keyboard.press("ArrowUp");
    await at.waitForFunction(() => document.getElementById("text").value.includes('"65.1 mm ± 0.05 mm"      # calipers'));
    holds(await at.evaluate(() => document.activeElement.dataset.path === "body.outer_diameter"), "it is still held");
    await at.evaluate(() => scrollTo(0, 0));
    const box = await dimension(at, "body.pole_diameter").locator("text").boundingBox();
    await at.mouse.move(box.x + box.width - 3, box.y + box.height / 2);
    await at.mouse.down();
    await at.mouse.move(box.x + box.width + 17, box.y + box.height / 2, { steps: 4 });
    await at.mouse.up();
    await at.waitForFunction(() => /pole_diameter = "(29|3\d)\.\d mm ± 0.1 mm"/.test(document.getElementById("text").value));
    for (let k = 0; k < 3; k += 1) await at.locator("#undo").click();
    holds((await text(at)) === demo, "undone");
  },

  async "what was assumed is given by typing over it"(at) {
    await at.waitForTimeout(300);
    const back = at.locator('#assumed input[data-path="body.back"]');
    await back.fill("7 mm ± 0.2 mm");
    await back.press("Enter");
    await at.waitForFunction(() => document.getElementById("text").value.includes('back = "7 mm ± 0.2 mm"'));
    await at.waitForFunction(() => !document.querySelector('#assumed input[data-path="body.back"]'));
    await at.locator("#undo").click();
  },

  async "a word is chosen in place"(at) {
    await at.evaluate(() => {
      const area = document.getElementById("text");
      area.focus();
      const from = area.value.indexOf('material = "low-carbon steel"') + 3;
      area.setSelectionRange(from, from);
    });
    await at.getByLabel("Choose body.material").selectOption("free-machining steel");
    await at.waitForFunction(() => document.getElementById("text").value.includes('material = "free-machining steel"'));
    await at.locator("#undo").click();
    holds((await text(at)) === demo, "undone");
  },

  async "units are others everywhere at once"(at) {
    await settled(at);
    await at.locator("#units").selectOption("imperial");
    await at.waitForFunction(() => document.querySelector('#figures [data-of="pull"]').textContent.includes("lbf"));
    await settled(at);
    const left = await at.locator("td.value").evaluateAll((cells) => cells.map((c) => c.textContent).filter((t) => / (mm|N|mT|°C)$/.test(t)));
    holds(!left.length, `left: ${left}`);
    await at.locator("#units").selectOption("si");
    await settled(at);
  },

  async "readings that are dropped are held against the sheet"(at) {
    const csv = (await readFile(join(examples, "readings/gantry-pot.csv"), "utf8")).split("\n").filter((_, k) => k < 12 || k % 6 === 0).join("\n");
    const data = await at.evaluateHandle((csv) => {
      const transfer = new DataTransfer();
      transfer.items.add(new File([csv], "bench.csv", { type: "text/csv" }));
      return transfer;
    }, csv);
    await at.dispatchEvent("main", "drop", { dataTransfer: data });
    await at.locator("#fit[data-answered]").waitFor({ timeout: 60_000 });
    holds((await at.locator("#audit").textContent()).includes("bench.csv") || (await at.locator("#fit table").count()) > 0, "they are told of");
    await at.locator("#readings-away").click();
    await at.waitForFunction(() => document.getElementById("fit").hidden);
  },

  async "another sheet stands beside it, and both follow"(at) {
    await writeFile(join(shop.folder, "ring.sheet.toml"), await readFile(join(examples, "loudspeaker-ring.sheet.toml"), "utf8"));
    await at.evaluate(() => window.dispatchEvent(new Event("focus")));
    await at.locator('#others-choice option[value="ring.sheet.toml"]').waitFor({ state: "attached" });
    await at.locator("#others-choice").selectOption("ring.sheet.toml");
    await at.locator("#compare[data-answered]").waitFor({ timeout: 90_000 });
    const first = at.locator('#compare [data-key="pull_1"]');
    const [own, its] = [await first.textContent(), await at.locator('#compare [data-key="pull_2"]').textContent()];
    holds(own === (await pull(at)), `${own} is the pull that stands above`);
    holds((await at.locator("#compare svg.bar").count()) > 3 && (await at.locator("#compare figure.chart").count()) === 1, "bars and curves");
    if (shots) await at.locator("#compare").screenshot({ path: join(shots, "compare.png") });
    await accessible(at, "beside another");
    await at.locator("#slider-workpiece-gap").focus();
    await at.keyboard.press("ArrowRight");
    await at.locator("#compare[data-stale]").waitFor();
    await settled(at);
    holds((await first.textContent()) !== own, "it follows");
    holds((await at.locator('#compare [data-key="pull_2"]').textContent()) !== its, "the other stands before the same workpiece");
    await at.getByRole("button", { name: "gap as in the sheet" }).click();
    await settled(at);
    await at.reload();
    await at.waitForSelector("body[data-ready]");
    holds((await at.locator("#others-list li").count()) === 1, "it stands there after a reload");
    await at.getByRole("button", { name: /^Take it away/ }).click();
    holds(!(await at.locator("#compare").isVisible()), "taken away");
    await settled(at);
  },

  async "the field is read under the pointer and under a cursor that keys move"(at) {
    await settled(at);
    const reading = at.locator("#value");
    const told = (what) => at.waitForFunction((what) => document.getElementById("value").textContent.includes(what), what);
    await at.locator("#flux svg").scrollIntoViewIfNeeded();
    const box = await at.locator("#flux svg").boundingBox();
    // Just above the middle of the magnet's height is steel on the axis, and air far to the side.
    await at.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
    await told("no reading");
    for (let k = 0; k < 20; k += 1) await at.mouse.move(box.x + 6 + k, box.y + box.height / 3);
    await told("by the mesh alone");
    holds((await reading.getAttribute("data-quick")) !== null, "it is visibly not settled");
    if (shots) await at.locator("#flux").screenshot({ path: join(shots, "value.png") });
    await at.waitForFunction(() => !document.getElementById("value").hasAttribute("data-quick"));
    const words = await reading.textContent();
    holds(/ [mµ]?T \(.*\): .* across, .* along the axis; [\d.]+ mm from the middle, [\d.]+ mm (above|below) the face\./.test(words), words);
    await at.locator("#flux svg").focus();
    await at.keyboard.press("ArrowRight");
    await at.waitForFunction((words) => document.getElementById("value").textContent !== words, words);
    const read = () => at.locator('#flux [role="status"]').textContent();
    await at.waitForFunction(() => document.querySelector('#flux [role="status"]').textContent.includes("from the middle"));
    holds((await read()).includes("along the axis"), `read out: ${await read()}`);
    await accessible(at, "a cursor in the field");
    const times = await at.evaluate(() => performance.getEntriesByName("value").map((entry) => entry.duration).sort((a, b) => a - b));
    console.log(`   value under the pointer: ${times[times.length >> 1].toFixed(0)} ms median of ${times.length}`);
  },

  async "the probe's height is a line that is dragged or moved by keys, and the scan follows at once"(at) {
    await settled(at);
    const line = at.locator("#field .probe .height");
    const scan = () => at.locator('#field figure[data-series="face_scan"] > svg').innerHTML();
    await line.scrollIntoViewIfNeeded();
    const before = await scan();
    await line.focus();
    const from = Number(await line.getAttribute("aria-valuenow"));
    await at.keyboard.press("ArrowUp");
    holds(Number(await line.getAttribute("aria-valuenow")) > from, "the line moves");
    await at.waitForFunction(() => document.querySelector('#field figure[data-series="face_scan"]').dataset.quick);
    holds((await scan()) !== before, "the scan is another");
    holds(await at.evaluate(() => document.activeElement.matches(".probe .height")), "it is still held");
    await at.waitForTimeout(300);
    const low = await scan();
    const box = await at.locator("#field .probe svg").boundingBox();
    await at.mouse.move(box.x + box.width / 2, box.y + box.height * 0.6);
    await at.mouse.down();
    await at.mouse.move(box.x + box.width / 2, box.y + box.height * 0.2, { steps: 6 });
    await at.mouse.up();
    await at.waitForFunction((low) => document.querySelector('#field figure[data-series="face_scan"] > svg').innerHTML !== low, low);
    const height = Number(await line.getAttribute("aria-valuenow"));
    holds(height > 4 * from, `dragged from ${from} to ${height}`);
    await at.waitForFunction(() => document.querySelector("#field[data-answered]:not([data-stale]) figure[data-series=face_scan]:not([data-quick])"), null, { timeout: 60_000 });
    const settledAt = await at.locator('#field [data-key="standoff"]').textContent();
    holds(Number.parseFloat(settledAt) === height, `settled at ${settledAt}`);
    if (shots) await at.locator('#field figure[data-series="face_scan"]').screenshot({ path: join(shots, "probe.png") });
    await accessible(at, "the probe's height");
    await at.getByRole("button", { name: "height of the probe as in the sheet" }).click();
    await settled(at);
    holds(Number(await line.getAttribute("aria-valuenow")) === from, "back again");
  },

  async "another form begins with a sheet of its own, and undo brings the old one back"(at) {
    await settled(at);
    const before = await text(at);
    holds((await at.locator("#form").inputValue()) === "pot", "it says what it is");
    await at.locator("#form").selectOption("disc");
    holds((await text(at)).includes('form = "disc"'), "another sheet");
    holds((await at.locator("#asks").textContent()).includes("undo brings it back"), "it is said that nothing is lost");
    // A permanent magnet has numbers at once too.
    await at.waitForFunction(() => /^[\d.]+ N$/.test(document.querySelector('#figures [data-of="pull"][data-quick]')?.textContent));
    await at.locator("#slider-workpiece-gap").waitFor();
    await pulled(at);
    if (shots) await at.screenshot({ path: join(shots, "form.png") });
    await at.locator("#asks").getByRole("button", { name: "Undo" }).click();
    holds((await text(at)) === before, "it is back");
    await at.waitForFunction(() => document.getElementById("form").value === "pot");
    await settled(at);
  },

  async "a search grows a front, and a point of it becomes the sheet"(at) {
    await settled(at);
    const before = await text(at);
    await at.locator("#seek-number-second").selectOption("mass");
    await at.locator("#seek-within").fill("hot spot <= 90 volts");
    await at.locator("#seek-go").click();
    await at.locator("#seek-found .failed").waitFor();
    await at.locator("#seek-within").fill("hot spot <= 90 degC");
    await at.locator("#seek-vary").fill("winding.wire=0.25..0.6mm; body.height=25..45mm");
    await at.locator("#seek-designs").fill("80");
    await at.locator("#seek-go").click();
    await at.waitForFunction(() => document.querySelectorAll("#seek-front .design").length > 1, null, { timeout: 60_000 });
    const growing = await at.locator("#seek-told").textContent();
    holds(/^\d+ of 80 designs solved/.test(growing), growing);
    await at.locator("#seek-found table").first().waitFor({ timeout: 120_000 });
    holds(await at.locator("#seek-go").isVisible(), "it has ended");
    holds((await at.locator("#seek-found .caution").count()) > 0, "with its cautions");
    if (shots) await at.locator("#seek").screenshot({ path: join(shots, "seek.png") });
    await accessible(at, "a front");
    const design = at.locator("#seek-front .design").first();
    await design.focus();
    await at.keyboard.press("Enter");
    await at.waitForFunction((before) => document.getElementById("text").value !== before, before);
    holds((await text(at)).includes("# calipers"), "comments stay");
    await pulled(at);
    const promised = Number.parseFloat(/pull ([\d.]+) N/.exec(await design.getAttribute("aria-label"))[1]);
    const kept = Number.parseFloat(await pull(at));
    holds(Math.abs(kept / promised - 1) < 0.02, `${promised} N was promised, ${kept} N it is`);
    await at.locator("#undo").click();
    holds((await text(at)) === before, "undone");
    await at.locator("#seek-designs").fill("2000");
    await at.locator("#seek-go").click();
    await at.locator("#seek-stop").click();
    holds((await at.locator("#seek-told").textContent()).startsWith("Stopped"), "stopped");
    await settled(at);
  },

  async "on a phone nothing runs over the edge and fingers find what they need"() {
    const at = await page(chrome, server.address, { viewport: { width: 360, height: 740 }, hasTouch: true });
    await settled(at);
    const [wide, own] = await at.evaluate(() => [document.documentElement.scrollWidth, innerWidth]);
    holds(wide <= own, `${wide} px wide`);
    for (const place of ["#save", "#slider-drive-voltage", "#units"]) {
      const box = await at.locator(place).boundingBox();
      holds(box.height >= 43, `${place} is ${box.height} px high`);
    }
    await accessible(at, "phone");
    await at.context().close();
  },

  async "on paper there is the page without its handles"() {
    const at = await page(chrome, server.address);
    await at.emulateMedia({ media: "print" });
    for (const place of ["#save", "#sliders", "#text"]) holds(!(await at.locator(place).isVisible()), `${place} is not printed`);
    holds(await at.locator("#drawing svg").isVisible(), "the drawing is");
    await at.context().close();
  },
  async "it is saved, never over what somebody else wrote"(at) {
    await at.locator("#text").focus();
    await at.keyboard.press("Control+Home");
    await at.keyboard.type("# mine\n");
    holds((await at.locator("#saved").textContent()) === "not saved", "it is said that it is not saved");
    await at.keyboard.press("Control+s");
    await at.waitForFunction(() => document.getElementById("saved").textContent === "saved");
    holds((await shop.read()).startsWith("# mine\n"), "it is in the file");
    await writeFile(shop.sheet, "# theirs\n" + demo);
    await at.evaluate(() => window.dispatchEvent(new Event("focus")));
    await at.waitForFunction(() => document.getElementById("text").value.startsWith("# theirs"));
    await writeFile(shop.sheet, demo);
    await at.locator("#text").focus();
    await at.keyboard.type("# again\n");
    await at.keyboard.press("Control+s");
    await at.getByRole("button", { name: "Leave it" }).click();
    holds((await shop.read()) === demo, "theirs is left");
    await at.keyboard.press("Control+s");
    await at.getByRole("button", { name: "Replace it" }).click();
    await at.waitForFunction(() => document.getElementById("saved").textContent === "saved");
    holds((await shop.read()).includes("# again"), "replaced when told to");
  },

  async "leaving warns, and a reload or a killed server loses nothing"(at) {
    await at.locator("#text").focus();
    await at.keyboard.press("Control+End");
    await at.keyboard.type("# not saved");
    await at.waitForTimeout(900);
    let warned = 0;
    at.on("dialog", (dialog) => {
      warned += 1;
      dialog.accept();
    });
    await at.reload();
    await at.waitForSelector("body[data-ready]");
    holds(warned === 1, "it warned");
    holds((await text(at)).endsWith("# not saved"), "it is here after a reload");
    const other = await page(chrome, server.address);
    holds(!(await text(other)).endsWith("# not saved"), "another page has the file's text");
    await other.context().close();
    await server.kill();
    server = await open(program, shop.folder, "pot.sheet.toml");
    const again = await page(chrome, server.address);
    holds((await text(again)).endsWith("# not saved"), "it is here after the server was killed");
    holds((await again.locator("#asks").textContent()).includes("not saved"), "and it is said");
    await again.getByRole("button", { name: "Take the file's text" }).click();
    holds((await text(again)) === (await shop.read()), "the file's text");
    holds(!again.faults.length, again.faults.join("\n"));
    await again.context().close();
    at.faults.length = 0;
  },
};

/** Pictures of the page at three widths, light and dark. */
async function pictures() {
  for (const [width, height] of [[1440, 900], [768, 1024], [360, 740]]) {
    for (const colorScheme of ["light", "dark"]) {
      const at = await page(chrome, server.address, { viewport: { width, height }, colorScheme });
      await settled(at);
      await at.screenshot({ path: join(shots, `${width}-${colorScheme}.png`) });
      await at.context().close();
    }
  }
}

let failed = 0;
const first = await page(chrome, server.address);
for (const [name, check] of Object.entries(checks).filter(([name]) => name.includes(process.env.ONLY ?? ""))) {
  try {
    await check(first);
    holds(!first.faults.length, first.faults.join("\n"));
    console.log(`ok ${name}`);
  } catch (error) {
    failed += 1;
    first.faults.length = 0;
    console.log(`FAILED ${name}: ${error.message}`);
    if (shots) await first.screenshot({ path: join(shots, `failed-${failed}.png`) });
  }
}
if (shots) await pictures();
await chrome.close();
await server.kill();
await shop.close();
process.exit(failed ? 1 : 0);
