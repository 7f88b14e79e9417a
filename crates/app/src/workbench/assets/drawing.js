// The drawing: every dimension is a handle. Click to type over it, drag it, or move it with the arrow keys.

const at = (id) => document.getElementById(id);
/** Movement below which a press is a click, px. */
const STILL = 4;

export class Drawing {
  constructor(bench) {
    this.bench = bench;
    this.place = at("drawing");
    this.hint = at("hint");
    this.usual = this.hint.textContent;
    /** Entries of the sheet that the dimensions show. */
    this.lengths = [];
    this.waiting = null;
    this.input = null;
    this.writing = Promise.resolve();
    this.place.addEventListener("pointerdown", (event) => this.press(event));
    this.place.addEventListener("keydown", (event) => this.key(event));
    this.handles();
  }

  /** A new drawing; one that is typed into is left as it is until then. */
  put(html) {
    if (this.input) {
      this.waiting = html;
      return;
    }
    const held = document.activeElement?.closest?.("#drawing .size")?.dataset.path;
    this.place.innerHTML = html;
    this.handles();
    if (held) this.handle(held)?.focus();
  }

  handle(path) {
    return [...this.place.querySelectorAll(".size")].find((size) => size.dataset.path === path);
  }

  entry(path) {
    return this.lengths.find((entry) => entry.path === path);
  }

  /** Makes the dimensions handles. */
  handles() {
    const svg = this.place.querySelector("svg");
    if (!svg) return;
    svg.setAttribute("role", "group");
    for (const size of this.place.querySelectorAll(".size")) {
      const text = size.querySelector("text");
      const entry = this.entry(size.dataset.path);
      size.setAttribute("tabindex", "0");
      size.setAttribute("role", "button");
      size.setAttribute("aria-label", `${entry?.label ?? size.dataset.path}, ${text.textContent}${entry?.assumed ? ", assumed" : ""}`);
      const box = text.getBBox();
      const hit = document.createElementNS("http://www.w3.org/2000/svg", "rect");
      for (const [name, value] of [["x", box.x - 8], ["y", box.y - 6], ["width", box.width + 16], ["height", box.height + 12]]) {
        hit.setAttribute(name, value);
      }
      hit.setAttribute("class", "hit");
      if (text.hasAttribute("transform")) hit.setAttribute("transform", text.getAttribute("transform"));
      size.append(hit);
    }
  }

  /** Says what is wrong with a dimension that is being dragged. */
  mark(diagnostics) {
    const dragged = this.bench.dragged;
    if (dragged) this.tell(diagnostics.filter((told) => told.path === dragged.path));
  }

  /** What is wrong with a dimension stands where the hint does, so that nothing moves. */
  tell(wrong) {
    this.hint.textContent = wrong.length ? wrong.map((told) => `${told.message}. ${told.hint}`).join(" ") : this.usual;
    this.hint.classList.toggle("wrong", wrong.length > 0);
  }

  press(event) {
    const size = event.target.closest(".size");
    if (!size || event.button !== 0 || this.input) return;
    event.preventDefault();
    const path = size.dataset.path;
    const pull = this.pull(size, event);
    let moved = false;
    let text = "";
    const move = (next) => {
      if (!moved && Math.hypot(next.clientX - event.clientX, next.clientY - event.clientY) < STILL) return;
      moved = true;
      text = pull?.(next) ?? "";
      if (text) {
        this.bench.dragged = { path, text };
        this.bench.changed();
      }
    };
    const end = async (last) => {
      document.removeEventListener("pointermove", move);
      document.removeEventListener("pointerup", end);
      document.removeEventListener("pointercancel", end);
      if (!moved) {
        this.handle(path)?.focus();
        this.type(path);
        return;
      }
      if (last.type === "pointerup" && text) await this.bench.write([[path, text]]);
      this.bench.dragged = null;
      this.bench.changed();
    };
    document.addEventListener("pointermove", move);
    document.addEventListener("pointerup", end);
    document.addEventListener("pointercancel", end);
  }

  /** From where the pointer is to the entry's text, in steps; the end that is nearer is moved. */
  pull(size, start) {
    const entry = this.entry(size.dataset.path);
    const line = size.querySelector(".dim");
    const number = entry && leading(entry.text);
    if (!line || !number) return null;
    const matrix = line.getScreenCTM();
    const end = (n) => {
      const [x, y] = [line.getAttribute(`x${n}`), line.getAttribute(`y${n}`)].map(Number);
      return new DOMPoint(x, y).matrixTransform(matrix);
    };
    const [a, b] = [end(1), end(2)];
    const length = Math.hypot(b.x - a.x, b.y - a.y) || 1;
    const along = [(b.x - a.x) / length, (b.y - a.y) / length];
    const middle = (start.clientX - (a.x + b.x) / 2) * along[0] + (start.clientY - (a.y + b.y) / 2) * along[1];
    const sign = middle < 0 ? -1 : 1;
    const both = size.querySelector("text").textContent.startsWith("⌀") ? 2 : 1;
    return (now) => {
      const by = (now.clientX - start.clientX) * along[0] + (now.clientY - start.clientY) * along[1];
      const value = number.value + (sign * both * by * number.value) / length;
      const stepped = Math.round(value / number.step) * number.step;
      return stepped > 0 ? number.with(stepped) : "";
    };
  }

  key(event) {
    const size = event.target.closest?.(".size");
    if (!size || this.input) return;
    const path = size.dataset.path;
    if (event.key === "Enter" || event.key === " ") {
      event.preventDefault();
      this.type(path);
      return;
    }
    const by = { ArrowUp: 1, ArrowRight: 1, ArrowDown: -1, ArrowLeft: -1, PageUp: 10, PageDown: -10 }[event.key];
    if (!by || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    this.writing = this.writing.then(async () => {
      const entry = this.entry(path);
      const number = entry && leading(entry.text);
      const value = number && number.value + by * number.step * (event.shiftKey ? 10 : 1);
      if (!(value > 0)) return;
      const text = number.with(value);
      const wrong = await this.bench.write([[path, text]]);
      if (!wrong.length) entry.text = text;
      this.tell(wrong);
    });
  }

  /** A field over the dimension. */
  type(path) {
    const size = this.handle(path);
    const entry = this.entry(path);
    if (!size || !entry) return;
    const box = size.querySelector("text").getBoundingClientRect();
    const frame = this.place.getBoundingClientRect();
    const input = document.createElement("input");
    input.className = "over";
    input.value = entry.text;
    input.spellcheck = false;
    input.setAttribute("aria-label", `${entry.label}, with unit and tolerance`);
    const width = Math.max(170, 9.5 * entry.text.length);
    const middle = (box.left + box.right) / 2 - frame.left + this.place.scrollLeft;
    input.style.width = `${width}px`;
    input.style.left = `${Math.max(0, Math.min(middle - width / 2, frame.width - width))}px`;
    input.style.top = `${Math.max(0, (box.top + box.bottom) / 2 - frame.top - 18)}px`;
    this.input = input;
    const close = () => {
      if (this.input !== input) return;
      this.input = null;
      input.remove();
      if (this.waiting !== null) this.put(this.waiting);
      this.waiting = null;
      this.tell([]);
    };
    const commit = async () => {
      const text = input.value.trim();
      if (!text || text === entry.text) {
        close();
        return;
      }
      const wrong = await this.bench.write([[path, text]]);
      if (!wrong.length) {
        close();
        this.handle(path)?.focus();
        return;
      }
      input.setAttribute("aria-invalid", "true");
      this.tell(wrong);
    };
    input.addEventListener("keydown", (event) => {
      event.stopPropagation();
      if (event.key === "Enter") commit();
      if (event.key === "Escape") {
        close();
        this.handle(path)?.focus();
      }
    });
    input.addEventListener("blur", () => setTimeout(close, 0));
    this.place.append(input);
    input.focus();
    input.select();
  }
}

/** The number that a quantity begins with, its last digit's step, and the text with another number. */
export function leading(text) {
  const found = /^\s*([-+]?\d+(?:\.(\d*))?)(.*)$/s.exec(text);
  if (!found) return null;
  const value = Number(found[1]);
  const places = found[2]?.length ?? 0;
  // A step is no finer than a five-hundredth: nobody drags microns of a shaft.
  const coarse = 10 ** Math.floor(Math.log10(Math.max(Math.abs(value), 1e-9) / 50));
  const step = Math.max(10 ** -places, coarse <= 0.1 ? coarse : Math.min(coarse, 0.1));
  const digits = Math.max(places, Math.ceil(-Math.log10(step) - 1e-9));
  return { value, step, with: (number) => `${number.toFixed(Math.max(0, digits))}${found[3]}` };
}
