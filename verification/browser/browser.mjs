// A browser, a server and a folder of their own for each run, and the few things that every check needs.

import { spawn } from "node:child_process";
import { once } from "node:events";
import { createRequire } from "node:module";
import { mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium } from "playwright-core";

const FLAGS = [
  "--headless",
  "--no-sandbox",
  "--disable-gpu",
  "--disable-quic",
  "--no-first-run",
  "--disable-background-networking",
  "--disable-component-update",
  "--disable-sync",
];

/** Says that something must hold. */
export function holds(truth, what) {
  if (!truth) throw new Error(what);
}

const axe = await readFile(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

/** No serious or critical violation. */
export async function accessible(page, state) {
  // The page's own policy keeps foreign scripts out: the checker runs in a world of its own.
  const session = await page.context().newCDPSession(page);
  const { frameTree } = await session.send("Page.getFrameTree");
  const { executionContextId } = await session.send("Page.createIsolatedWorld", { frameId: frameTree.frame.id });
  const run = (expression) =>
    session.send("Runtime.evaluate", { contextId: executionContextId, expression, awaitPromise: true, returnByValue: true });
  await run(axe);
  const { result } = await run(
    "axe.run(document, { resultTypes: ['violations'] }).then((r) => JSON.stringify(r.violations.map((v) => [v.impact, v.id, v.nodes.slice(0, 3).map((n) => n.target.join(' ') + ': ' + n.failureSummary)])))",
  );
  const found = JSON.parse(result.value).filter(([impact]) => impact === "serious" || impact === "critical");
  holds(!found.length, `${state}: ${JSON.stringify(found, null, 1)}`);
}

/** A folder with a sheet, gone at the end. */
export async function workshop(name, text) {
  const folder = await mkdtemp(join(tmpdir(), "workbench-"));
  const sheet = join(folder, name);
  await writeFile(sheet, text);
  return { folder, sheet, read: () => readFile(sheet, "utf8"), close: () => rm(folder, { recursive: true }) };
}

/** `coilwright open`; its address, and how to end it at once. */
export async function open(program, folder, sheet) {
  const child = spawn(program, ["open", sheet, "--no-browser"], { cwd: folder, stdio: ["ignore", "pipe", "inherit"] });
  const [line] = await once(child.stdout, "data");
  const ended = once(child, "exit");
  return {
    address: String(line).trim(),
    async kill() {
      child.kill("SIGKILL");
      await ended;
    },
  };
}

/** A browser with a profile of its own. */
export async function browser(executable) {
  return chromium.launch({ executablePath: executable, args: FLAGS });
}

/** A page on which nothing may go wrong unheard. */
export async function page(browser, address, options = {}) {
  const context = await browser.newContext({ viewport: { width: 1440, height: 900 }, ...options });
  const opened = await context.newPage();
  opened.faults = [];
  opened.on("pageerror", (error) => opened.faults.push(error.message));
  opened.on("console", (message) => {
    // What is refused, and asked about in the page, is told there too.
    const refused = message.text().includes("409");
    if (message.type() === "error" && !refused) opened.faults.push(message.text());
  });
  opened.on("request", (request) => {
    const { protocol, origin } = new URL(request.url());
    if (protocol.startsWith("http") && origin !== new URL(address).origin) opened.faults.push(`asked ${request.url()}`);
  });
  await opened.goto(address);
  await opened.waitForSelector("body[data-ready]");
  return opened;
}

/** Waits until everything is answered. */
export async function settled(page) {
  await page.waitForSelector("body[data-settled]", { timeout: 90_000 });
}
