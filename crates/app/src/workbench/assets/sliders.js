// What-if sliders: numbers moved without touching the sheet, until they are written into it.

import { leading } from "./drawing.js";

const at = (id) => document.getElementById(id);

export class Sliders {
  constructor(bench) {
    this.bench = bench;
    this.form = at("sliders");
    /** Paths that were made sliders on demand. */
    this.added = [];
    /** By path: what is moved, in the unit of its slider. */
    this.moved = new Map();
    this.rows = new Map();
    this.form.addEventListener("submit", (event) => event.preventDefault());
    this.more = this.chooser();
    this.form.append(this.more);
  }

  /** What-ifs as the server takes them. */
  assignments() {
    return [...this.moved].map(([path, { text }]) => `${path}=${text}`);
  }

  /** Nothing is moved any more, and no number was added. */
  forget() {
    this.moved.clear();
    this.added = [];
  }

  /** Moves a number from elsewhere in the page; it becomes a slider. */
  to(slider, number) {
    if (!this.added.includes(slider.path)) this.added.push(slider.path);
    const row = this.rows.get(slider.path) ?? this.make(slider);
    row.range.max = Math.max(Number(row.range.max), number);
    row.range.value = number;
    this.move(row);
  }

  /** Shows what may be moved; what is being moved stays where it is. */
  show({ sliders, numbers, diagnostics }) {
    if (sliders.length) {
      const paths = new Set(sliders.map((slider) => slider.path));
      for (const [path, row] of this.rows) {
        if (paths.has(path)) continue;
        row.element.remove();
        this.rows.delete(path);
        this.moved.delete(path);
      }
      for (const slider of sliders) this.row(slider);
    }
    if (numbers.length) this.offer(numbers);
    for (const [path, row] of this.rows) {
      const told = diagnostics.find((told) => told.path === path);
      row.said.textContent = told ? `${told.message}. ${told.hint}` : "";
    }
  }

  row(slider) {
    const row = this.rows.get(slider.path) ?? this.make(slider);
    row.slider = slider;
    const moved = this.moved.get(slider.path);
    if (moved && moved.unit !== slider.unit) {
      // Other units: the same number in the new one is the sheet's to say; the what-if keeps its text.
      row.element.dataset.unit = "other";
      row.value.textContent = moved.text;
      return;
    }
    delete row.element.dataset.unit;
    const { range } = row;
    range.min = slider.least;
    range.max = slider.most;
    range.step = slider.step;
    if (moved) range.value = moved.number;
    else if (document.activeElement !== range) range.value = slider.value;
    if (!moved) this.tell(row, slider.value);
  }

  make(slider) {
    const element = document.createElement("div");
    element.className = "slider";
    const label = document.createElement("label");
    const range = document.createElement("input");
    range.type = "range";
    range.id = `slider-${slider.path.replaceAll(".", "-")}`;
    label.htmlFor = range.id;
    label.textContent = slider.label;
    const value = document.createElement("output");
    value.htmlFor = range.id;
    const reset = button("Reset", `Reset: ${slider.label} as in the sheet`);
    const write = button("Write", `Write ${slider.label} into the sheet`);
    const said = document.createElement("small");
    said.setAttribute("role", "alert");
    element.append(label, range, value, reset, write, said);
    this.form.insertBefore(element, this.more);
    const row = { element, range, value, reset, write, said, slider };
    this.rows.set(slider.path, row);
    [range.min, range.max, range.step] = [slider.least, slider.most, slider.step];
    range.addEventListener("input", () => this.move(row));
    reset.addEventListener("click", () => this.reset(row));
    write.addEventListener("click", () => this.write(row));
    return row;
  }

  move(row) {
    const { path, unit, tolerance, step } = row.slider;
    const number = Number(row.range.value);
    const text = `${plain(number, step)} ${unit}`.trim() + tolerance;
    this.moved.set(path, { text, unit, number });
    this.tell(row, number);
    this.bench.changed();
  }

  reset(row) {
    this.moved.delete(row.slider.path);
    row.range.value = row.slider.value;
    this.tell(row, row.slider.value);
    row.range.focus();
    this.bench.changed();
  }

  async write(row) {
    const { path } = row.slider;
    const moved = this.moved.get(path);
    if (!moved) return;
    this.moved.delete(path);
    const wrong = await this.bench.write([[path, moved.text]]);
    if (wrong.length) this.moved.set(path, moved);
    row.said.textContent = wrong.map((told) => told.message).join(" ");
    row.range.focus();
  }

  tell(row, number) {
    const { path, unit, step } = row.slider;
    const text = `${plain(number, step)} ${unit}`.trim();
    row.value.textContent = text;
    row.range.setAttribute("aria-valuetext", text);
    const moved = this.moved.has(path);
    row.element.toggleAttribute("data-moved", moved);
    row.reset.disabled = !moved;
    row.write.disabled = !moved;
  }

  /** Any other number, on demand. */
  chooser() {
    const label = document.createElement("label");
    label.className = "more";
    const words = document.createElement("span");
    words.textContent = "another number";
    this.choice = document.createElement("select");
    this.choice.addEventListener("change", () => {
      const path = this.choice.value;
      if (!path) return;
      this.added.push(path);
      this.bench.changed();
    });
    label.append(words, this.choice);
    return label;
  }

  offer(numbers) {
    const open = numbers.filter((number) => !this.rows.has(number.path));
    const key = open.map((number) => number.path).join();
    if (this.choice.dataset.key === key) return;
    this.choice.dataset.key = key;
    const none = new Option("choose …", "");
    this.choice.replaceChildren(none, ...open.map(({ path, label }) => new Option(label, path)));
  }
}

/** A number without what its step leaves open. */
export function plain(number, step) {
  const places = Math.max(0, Math.ceil(-Math.log10(step) - 1e-9));
  return leading(number.toFixed(places + 1))?.value === number ? String(number) : number.toFixed(places);
}

function button(text, name) {
  const made = document.createElement("button");
  made.type = "button";
  made.textContent = text;
  made.setAttribute("aria-label", name);
  made.disabled = true;
  return made;
}
