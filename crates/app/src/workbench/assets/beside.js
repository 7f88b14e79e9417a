// What stands beside the sheet: other sheets of its folder, and those that were named with it.

const at = (id) => document.getElementById(id);
/** So many at most. */
const MOST = 3;

export class Beside {
  constructor(bench) {
    this.bench = bench;
    this.place = at("others");
    this.choice = at("others-choice");
    this.list = at("others-list");
    this.known = [];
    /** Files of those that stand there. */
    this.files = [];
    this.choice.addEventListener("change", () => this.put([...this.files, this.choice.value]));
    window.addEventListener("focus", () => this.look());
  }

  /** Those of last time, or those that were named. */
  async begin() {
    await this.look();
    const last = sessionStorage.getItem("beside");
    const here = new Set(this.known.map((other) => other.file));
    const named = this.known.filter((other) => other.named).map((other) => other.file);
    this.files = (last === null ? named : JSON.parse(last)).filter((file) => here.has(file));
    this.show();
  }

  /** What is in the folder now. */
  async look() {
    try {
      this.known = await (await fetch("others")).json();
      this.show();
    } catch {
      // Whether the server answers is told elsewhere.
    }
  }

  put(files) {
    this.files = files;
    sessionStorage.setItem("beside", JSON.stringify(files));
    this.show();
    this.bench.settleNow();
  }

  show() {
    const open = this.known.filter((other) => !this.files.includes(other.file));
    this.choice.replaceChildren(new Option("choose …", ""), ...open.map((other) => new Option(called(other), other.file)));
    this.choice.closest("label").hidden = !open.length || this.files.length >= MOST;
    at("others-none").hidden = this.known.length > 0;
    this.list.replaceChildren(
      ...this.files.map((file) => {
        const item = document.createElement("li");
        const away = document.createElement("button");
        away.type = "button";
        away.textContent = "Take it away";
        const name = called(this.known.find((other) => other.file === file) ?? { name: file, file });
        away.setAttribute("aria-label", `Take it away: ${name}`);
        away.addEventListener("click", () => {
          this.put(this.files.filter((other) => other !== file));
          this.choice.focus();
        });
        item.append(name, " ", away);
        return item;
      }),
    );
    const section = at("compare");
    section.hidden = !this.files.length;
    if (section.hidden) delete section.dataset.answered;
  }
}

/** By its name and its file. */
function called({ name, file }) {
  return name === file ? file : `${name} (${file})`;
}
