// The page alive: it asks the server about the text and what-ifs, and puts what comes in its place.

import { Editor } from "./editor.js";
import { Drawing } from "./drawing.js";
import { Sliders } from "./sliders.js";
import { Keeping } from "./keep.js";
import { Keys } from "./keys.js";
import { Latest } from "./latest.js";
import { Picture } from "./picture.js";
import { Probe } from "./probe.js";
import { Forms } from "./forms.js";
import { Seek } from "./seek.js";
import { Beside } from "./beside.js";

const at = (id) => document.getElementById(id);
/** Parts that grow stale as soon as something changes. */
const ANSWERED = ["verdict", "figures", "short", "closing"];
/** After this long without a change everything is settled, ms. */
const REST = 350;

/** This page's name: it outlives a reload, not the tab. */
function pageName() {
  let name = sessionStorage.getItem("page");
  if (!name) {
    name = crypto.randomUUID().replaceAll("-", "");
    sessionStorage.setItem("page", name);
  }
  return name;
}

/** Sends a question to the server. */
export async function post(path, body, signal) {
  return fetch(path, {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: JSON.stringify(body),
    signal,
  });
}

class Workbench {
  constructor() {
    this.page = pageName();
    this.units = "si";
    /** Of a dimension that is being dragged: path and text. */
    this.dragged = null;
    /** One quick question at a time; the newest is asked as soon as the one before it is answered. */
    this.quick = new Latest(() => this.once());
    this.settling = null;
    this.timer = 0;
    this.asked = 0;
    this.editor = new Editor(() => this.changed());
    this.drawing = new Drawing(this);
    this.sliders = new Sliders(this);
    this.keeping = new Keeping(this);
    this.keys = new Keys(this);
    this.beside = new Beside(this);
    this.picture = new Picture(this);
    this.probe = new Probe(this);
    this.forms = new Forms(this);
    this.seek = new Seek(this);
  }

  async start() {
    // On a narrow page what is assumed folds beneath the text.
    if (matchMedia("(max-width: 720px)").matches) document.querySelector("details.open").open = false;
    await Promise.all([this.keeping.begin(), this.keys.begin(), this.beside.begin(), this.forms.begin()]);
    at("units").addEventListener("change", (event) => {
      this.units = event.target.value;
      this.settleNow();
    });
    document.body.dataset.ready = "yes";
    this.settleNow();
  }

  /** What is asked. */
  question(settle) {
    const set = this.sliders.assignments();
    if (this.dragged) set.push(`${this.dragged.path}=${this.dragged.text}`);
    return {
      text: this.editor.text,
      set,
      units: this.units,
      client: this.page,
      moment: performance.timeOrigin + performance.now(),
      settle,
      sliders: this.sliders.added,
      beside: this.beside.files,
    };
  }

  /** Something is otherwise: numbers at once, everything after a rest. */
  changed() {
    this.stale();
    this.settling?.abort();
    clearTimeout(this.timer);
    this.keeping.note();
    this.seek.changed();
    this.quick.run();
    this.timer = setTimeout(() => this.settleNow(), REST);
  }

  async once() {
    const started = performance.now();
    await this.ask(false, new AbortController(), (part) => {
      if (part.part === "quick" && part.values[0]?.of === "pull") {
        performance.measure("quick", { start: started });
      }
      return this.quick.again && part.id === "flux";
    });
  }

  async settleNow() {
    clearTimeout(this.timer);
    if (this.quick.busy) {
      this.timer = setTimeout(() => this.settleNow(), REST);
      return;
    }
    this.settling?.abort();
    const own = new AbortController();
    this.settling = own;
    this.stale();
    const settled = await this.ask(true, own);
    if (this.settling === own) {
      this.settling = null;
      showProgress("");
      if (settled) document.body.dataset.settled = String(this.asked);
    }
  }

  /** Asks, and puts the parts in their places; `enough` says when no more is needed. */
  async ask(settle, abort, enough = () => false) {
    const number = ++this.asked;
    let settled = false;
    try {
      const response = await post("ask", this.question(settle), abort.signal);
      if (!response.ok) throw new Error(await response.text());
      this.keeping.isThere(true);
      for await (const part of parts(response)) {
        if (number < this.asked && part.part !== "sheet") break;
        try {
          this.put(part);
        } catch (error) {
          // It is this page's, not the server's.
          reportError(error);
        }
        settled ||= part.part === "settled";
        if (enough(part)) break;
      }
    } catch (error) {
      if (error.name !== "AbortError") this.keeping.isThere(false);
    }
    return settled;
  }

  put(part) {
    switch (part.part) {
      case "sheet":
        this.sheet(part);
        break;
      case "put":
        this.place(part);
        break;
      case "quick":
        for (const value of part.values) showQuick(value);
        break;
      case "progress":
        showProgress(part.text, part.share);
        break;
      case "settled":
        at("said").textContent = document.querySelector("#verdict h1")?.textContent ?? "";
        break;
    }
  }

  /** What the text says. */
  sheet(part) {
    this.editor.mark(part.diagnostics.filter((told) => !told.path));
    this.sliders.show(part);
    this.drawing.lengths = part.lengths.length ? part.lengths : this.drawing.lengths;
    this.drawing.mark(part.diagnostics.filter((told) => told.path));
    showAssumed(part.assumed, this);
    this.forms.show(part.form);
    if (part.name) this.probe.show(part.probe);
    const wrong = part.diagnostics.some((told) => told.severity === "fault");
    document.body.toggleAttribute("data-wrong", wrong);
    if (wrong) showProgress("");
    if (part.name) {
      at("name").textContent = part.name;
      document.title = part.name;
    }
  }

  /** HTML of the server, in which everything a sheet says is escaped. */
  place({ id, html, failed }) {
    if (id === "face-scan") {
      this.probe.scan(html);
      return;
    }
    const place = at(id);
    if (!place) return;
    if (id === "drawing") {
      this.drawing.put(html);
      return;
    }
    const made = document.createElement("template");
    made.innerHTML = html;
    if (id === "flux") {
      const figure = made.content.firstElementChild;
      if (figure) place.replaceWith(figure);
      reachable();
      this.picture.renew();
      return;
    }
    const first = made.content.firstElementChild;
    const section = first?.id === id ? first : null;
    if (failed && place.dataset.answered) {
      place.querySelector(":scope > .failed")?.remove();
      const reason = section?.querySelector("p");
      reason?.classList.add("failed");
      if (reason) place.querySelector("h2").after(reason);
      place.dataset.failed = "yes";
      delete place.dataset.stale;
      return;
    }
    if (section) {
      place.replaceChildren(...section.childNodes);
      place.hidden = false;
      if (!failed) place.dataset.answered = "yes";
      this.keeping.offerFiles(place);
    } else {
      place.replaceChildren(made.content);
    }
    place.classList.remove("pending");
    delete place.dataset.stale;
    delete place.dataset.failed;
    if (id === "field") {
      reachable();
      this.picture.renew();
      this.probe.renew();
    }
  }

  /** What stands there is from before. */
  stale() {
    delete document.body.dataset.settled;
    for (const id of ANSWERED) at(id).dataset.stale = "yes";
    for (const section of document.querySelectorAll("main > section[data-answered]")) section.dataset.stale = "yes";
  }

  /** Writes entries into the sheet's text; gives back what was wrong with them. */
  async write(entries) {
    const response = await post("edit", { text: this.editor.text, entries });
    const edited = await response.json();
    if (edited.text === undefined) return edited.diagnostics;
    this.editor.become(edited.text);
    this.changed();
    return [];
  }
}

/** Parts of an answer as they come, a line each. */
export async function* parts(response) {
  const reader = response.body.pipeThrough(new TextDecoderStream()).getReader();
  let rest = "";
  try {
    for (;;) {
      const { done, value } = await reader.read();
      if (done) return;
      const lines = (rest + value).split("\n");
      rest = lines.pop();
      for (const line of lines) yield JSON.parse(line);
    }
  } finally {
    reader.cancel().catch(() => {});
  }
}

/** What is wider than a narrow page is moved by keys too. */
function reachable() {
  for (const figure of document.querySelectorAll("figure.drawing")) {
    if (figure.scrollWidth > figure.clientWidth) figure.tabIndex = 0;
  }
}

/** What is being worked on, and how much of it is done where that is known; only the words are read out. */
function showProgress(text, share = null) {
  const words = text && `${text} …`;
  if (at("progress").textContent !== words) at("progress").textContent = words;
  at("share").textContent = share === null ? "" : `${Math.floor(100 * share)} %`;
}

/** A number that will be settled later, wherever it stands. */
function showQuick({ of, key, text }) {
  for (const place of document.querySelectorAll(`[data-of="${of}"][data-key="${key}"]`)) {
    place.textContent = place.tagName === "U" ? text.replaceAll(" ", "\u00a0") : text;
    place.removeAttribute("data-si");
    place.dataset.quick = "yes";
  }
}

/** What the sheet leaves open; typed over, it is given. */
function showAssumed(all, bench) {
  if (!all.length && document.body.hasAttribute("data-wrong")) return;
  const list = at("assumed");
  const known = JSON.stringify(all);
  if (list.dataset.known === known) return;
  const held = list.contains(document.activeElement) ? document.activeElement.dataset.path : "";
  if (held) return;
  list.dataset.known = known;
  list.replaceChildren(
    ...all.map(({ path, label, text, reason }) => {
      const item = document.createElement("li");
      const name = document.createElement("label");
      const words = document.createElement("span");
      words.textContent = label;
      const input = document.createElement("input");
      input.className = "assumed";
      input.value = text;
      input.dataset.path = path;
      input.spellcheck = false;
      const said = document.createElement("small");
      said.setAttribute("role", "alert");
      input.addEventListener("change", async () => {
        if (input.value.trim() === text || !input.value.trim()) return;
        const wrong = await bench.write([[path, input.value.trim()]]);
        said.textContent = wrong.map((told) => `${told.message}. ${told.hint}`).join(" ");
        input.setAttribute("aria-invalid", String(wrong.length > 0));
      });
      input.addEventListener("keydown", (event) => {
        if (event.key === "Escape") input.value = text;
        if (event.key === "Enter" || event.key === "Escape") input.blur();
      });
      name.append(words, input);
      const why = document.createElement("small");
      why.className = "soft";
      why.textContent = reason.replaceAll("`", "");
      item.append(name, why, said);
      return item;
    }),
  );
}

new Workbench().start();
