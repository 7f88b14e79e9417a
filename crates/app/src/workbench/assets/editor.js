// The sheet's text: lines with numbers, comments in a lighter hand, faults at their lines, undo and redo without limit.

const at = (id) => document.getElementById(id);
/** Changes closer together than this are undone together, ms. */
const TOGETHER = 700;

export class Editor {
  /** `changed` is called after every change by the user. */
  constructor(changed) {
    this.area = at("text");
    this.shade = at("shade");
    this.gutter = at("gutter");
    this.changed = changed;
    this.diagnostics = [];
    this.undone = [];
    this.done = [];
    this.current = this.area.value;
    this.last = 0;
    this.area.addEventListener("input", () => {
      this.remember(this.area.value);
      this.changed();
    });
    this.area.addEventListener("scroll", () => this.follow());
    document.addEventListener("keydown", (event) => this.key(event));
    at("undo").addEventListener("click", () => this.undo());
    at("redo").addEventListener("click", () => this.step(this.undone, this.done));
    this.draw();
  }

  get text() {
    return this.current;
  }

  /** The text from the outset: nothing to undo. */
  begin(text) {
    this.current = text;
    this.area.value = text;
    this.done = [];
    this.undone = [];
    this.draw();
  }

  /** The text from somewhere else in the page. */
  become(text) {
    this.last = 0;
    this.remember(text);
    this.last = 0;
    this.area.value = text;
    this.draw();
  }

  remember(text) {
    if (text === this.current) return;
    const now = performance.now();
    if (now - this.last > TOGETHER || !this.done.length) this.done.push(this.current);
    this.last = now;
    this.undone = [];
    this.current = text;
    this.draw();
  }

  undo() {
    this.step(this.done, this.undone);
  }

  step(from, to) {
    if (!from.length) return;
    to.push(this.current);
    this.current = from.pop();
    this.last = 0;
    this.area.value = this.current;
    this.draw();
    this.changed();
  }

  key(event) {
    if (!(event.ctrlKey || event.metaKey) || event.altKey) return;
    // A field that is being typed in has an undo of its own.
    const typing = event.target.tagName === "INPUT" && event.target.type !== "range";
    const key = event.key.toLowerCase();
    if (typing || (key !== "z" && key !== "y")) return;
    event.preventDefault();
    if (key === "y" || event.shiftKey) this.step(this.undone, this.done);
    else this.step(this.done, this.undone);
  }

  /** Shows what is wrong, at its lines and in words. */
  mark(diagnostics) {
    const known = JSON.stringify(diagnostics);
    if (known === this.known) return;
    this.known = known;
    this.diagnostics = diagnostics;
    this.draw();
    const list = at("diagnostics");
    list.replaceChildren(
      ...diagnostics.map((told) => {
        const item = document.createElement("li");
        item.className = told.severity;
        const go = document.createElement("button");
        go.type = "button";
        go.textContent = told.line ? `line ${told.line}` : told.severity;
        go.addEventListener("click", () => this.go(told));
        const words = document.createElement("span");
        words.textContent = ` ${told.message}.${told.hint ? ` ${told.hint}` : ""}`.replaceAll("`", "");
        item.append(go, words);
        return item;
      }),
    );
    this.area.setAttribute("aria-invalid", String(diagnostics.some((told) => told.severity === "fault")));
  }

  go(told) {
    if (!told.line) return;
    const lines = this.current.split("\n");
    const start = lines.slice(0, told.line - 1).reduce((sum, line) => sum + line.length + 1, 0);
    this.area.focus();
    this.area.setSelectionRange(start + told.column - 1, start + (lines[told.line - 1]?.length ?? 0));
    this.area.scrollTop = Math.max(0, (told.line - 6) * this.area.scrollHeight / lines.length);
  }

  draw() {
    const lines = this.current.split("\n");
    const wrong = new Map(this.diagnostics.map((told) => [told.line, told.severity]));
    this.gutter.replaceChildren(
      ...lines.map((_, index) => {
        const number = document.createElement("div");
        number.textContent = index + 1;
        if (wrong.has(index + 1)) number.className = wrong.get(index + 1);
        return number;
      }),
    );
    this.shade.replaceChildren(
      ...lines.map((line, index) => {
        const row = document.createElement("div");
        if (wrong.has(index + 1)) row.className = wrong.get(index + 1);
        row.append(...shaded(line));
        return row;
      }),
    );
    at("undo").disabled = !this.done.length;
    at("redo").disabled = !this.undone.length;
    this.follow();
  }

  follow() {
    this.shade.scrollTop = this.area.scrollTop;
    this.shade.scrollLeft = this.area.scrollLeft;
    this.gutter.scrollTop = this.area.scrollTop;
  }
}

/** A line with its comment and its table in a lighter hand. */
function shaded(line) {
  const soft = (text) => {
    const span = document.createElement("span");
    span.className = "soft";
    span.textContent = text;
    return span;
  };
  if (/^\s*\[/.test(line)) return [soft(line)];
  let quote = "";
  for (let index = 0; index < line.length; index += 1) {
    const letter = line[index];
    if (quote) {
      if (letter === "\\" && quote === '"') index += 1;
      else if (letter === quote) quote = "";
    } else if (letter === '"' || letter === "'") quote = letter;
    else if (letter === "#") return [line.slice(0, index), soft(line.slice(index))];
  }
  return [line || "\u200b"];
}
