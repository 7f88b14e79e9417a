// What lasts: saving, the journal of what is not saved, files of charts and of the report, readings.

import { post } from "./workbench.js";

const at = (id) => document.getElementById(id);
/** After this long without a change what is not saved is noted, ms. */
const NOTE = 400;

export class Keeping {
  constructor(bench) {
    this.bench = bench;
    this.base = "";
    this.saved = "";
    this.timer = 0;
    this.there = true;
    at("save").addEventListener("click", () => this.save({}));
    at("save-as").addEventListener("click", () => this.saveAs());
    at("report").addEventListener("click", () => this.report());
    at("readings-file").addEventListener("change", (event) => this.read(event.target.files[0]));
    at("readings-away").addEventListener("click", () => this.give({ name: "", text: "" }));
    document.addEventListener("dragover", (event) => {
      if (event.dataTransfer?.types.includes("Files")) event.preventDefault();
    });
    document.addEventListener("drop", (event) => {
      if (!event.dataTransfer?.files.length) return;
      event.preventDefault();
      this.read(event.dataTransfer.files[0]);
    });
    document.addEventListener("keydown", (event) => {
      if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "s") {
        event.preventDefault();
        this.save({});
      }
    });
    window.addEventListener("focus", () => this.look());
    window.addEventListener("beforeunload", (event) => {
      if (this.unsaved) event.preventDefault();
    });
  }

  get unsaved() {
    return this.bench.editor.text !== this.saved;
  }

  /** The text that the page begins with. */
  async begin() {
    const response = await post("begin", { page: this.bench.page });
    const begins = await response.json();
    this.base = begins.base;
    this.saved = begins.saved;
    at("file").textContent = begins.file;
    this.bench.editor.begin(begins.text);
    if (begins.recovered) this.ask("What was not saved last time is here again.", [["Go on with it", () => {}], ["Take the file's text", () => this.discard()]]);
    this.show();
  }

  /** Whether somebody else has changed the file: text that is saved follows it, text that is not is left alone. */
  async look() {
    try {
      const { base, text } = await (await fetch("disk")).json();
      this.isThere(true);
      if (base === this.base) return;
      if (this.unsaved) {
        at("saved").textContent = "not saved, and the file is another by now";
        return;
      }
      this.base = base;
      this.saved = text;
      this.bench.editor.become(text);
      this.bench.changed();
    } catch {
      this.isThere(false);
    }
  }

  discard() {
    this.bench.editor.become(this.saved);
    this.bench.changed();
  }

  show() {
    at("saved").textContent = this.unsaved ? "not saved" : this.base ? "saved" : "";
  }

  /** Notes beside the sheet what is not saved. */
  note() {
    this.show();
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.noteNow(), NOTE);
  }

  async noteNow() {
    try {
      const { text } = this.bench.editor;
      const response = await post("journal", { page: this.bench.page, text, base: this.base, unsaved: this.unsaved });
      if (!response.ok) at("saved").textContent = `not saved, and it cannot be noted: ${await response.text()}`;
      this.isThere(true);
    } catch {
      this.isThere(false);
    }
  }

  async save({ name, replace = false }) {
    clearTimeout(this.timer);
    const { text } = this.bench.editor;
    try {
      const response = await post("save", { text, base: this.base, name, replace, page: this.bench.page });
      const found = await response.json();
      if (response.ok) {
        this.base = found.base;
        this.saved = text;
        at("file").textContent = found.file;
        document.querySelector(".welcome")?.remove();
        this.ask("", []);
        this.show();
      } else if (found.may_replace) {
        this.ask(found.reason, [["Replace it", () => this.save({ name, replace: true })], ["Leave it", () => {}]]);
      } else {
        this.ask(found.reason, [["Close", () => {}]]);
      }
    } catch {
      this.isThere(false);
    }
  }

  saveAs() {
    const input = document.createElement("input");
    input.value = at("file").textContent.split(/[\\/]/).pop();
    input.setAttribute("aria-label", "Name of the file");
    input.addEventListener("keydown", (event) => {
      if (event.key === "Enter") this.save({ name: input.value.trim() });
      if (event.key === "Escape") this.ask("", []);
    });
    this.ask("Save beside the sheet as", [["Save", () => this.save({ name: input.value.trim() })], ["Do not", () => {}]], input);
    input.focus();
    input.select();
  }

  /** A question in the page, with what may be answered; it is gone once it is. */
  ask(words, answers, input) {
    const place = at("asks");
    const buttons = answers.map(([text, then]) => {
      const made = document.createElement("button");
      made.type = "button";
      made.textContent = text;
      made.addEventListener("click", () => {
        place.replaceChildren();
        then();
      });
      return made;
    });
    const said = document.createElement("span");
    said.textContent = words.replaceAll("`", "");
    place.replaceChildren(...(words ? [said] : []), ...(input ? [input] : []), ...buttons);
    if (!input) buttons[0]?.focus();
  }

  /** Whether the server answers. */
  isThere(there) {
    if (there === this.there) return;
    this.there = there;
    document.body.toggleAttribute("data-gone", !there);
    if (there) this.ask("", []);
    else this.ask("The server does not answer: nothing is computed. What was typed is noted; open the sheet again to go on.", []);
  }

  /** Offers a section's charts as files. */
  offerFiles(section) {
    for (const figure of section.querySelectorAll("figure.chart")) {
      const line = document.createElement("p");
      line.className = "files";
      for (const format of ["svg", "png", "csv"]) {
        const made = document.createElement("button");
        made.type = "button";
        made.textContent = format.toUpperCase();
        made.setAttribute("aria-label", `This chart as ${format.toUpperCase()}`);
        const { of, series } = figure.dataset;
        made.addEventListener("click", () => this.download("chart", { ...this.bench.question(false), of, series, format }, `${of}-${series}.${format}`));
        line.append(made);
      }
      figure.append(line);
    }
  }

  report() {
    const name = at("file").textContent.split(/[\\/]/).pop().replace(/(\.sheet)?\.toml$/, "");
    return this.download("report", this.bench.question(true), `${name}.html`);
  }

  async download(path, body, name) {
    const response = await post(path, body);
    if (!response.ok) {
      this.ask(await response.text(), [["Close", () => {}]]);
      return;
    }
    const link = document.createElement("a");
    link.href = URL.createObjectURL(await response.blob());
    link.download = name;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
  }

  async read(file) {
    if (file) await this.give({ name: file.name, text: await file.text() });
  }

  async give(readings) {
    const response = await post("readings", readings);
    const told = at("readings-told");
    if (!response.ok) {
      told.textContent = await response.text();
      return;
    }
    const { diagnostics, remarks } = await response.json();
    const lines = diagnostics.map(({ line, message, hint }) => `${line ? `line ${line}: ` : ""}${message}. ${hint}`);
    told.textContent = [...lines, ...remarks].join(" ").replaceAll("`", "");
    if (diagnostics.length) return;
    if (readings.name) told.textContent = `${readings.name} is read. ${told.textContent}`;
    at("readings-away").hidden = !readings.name;
    at("readings-file").value = "";
    if (!readings.name) at("fit").hidden = true;
    this.bench.settleNow();
  }
}
