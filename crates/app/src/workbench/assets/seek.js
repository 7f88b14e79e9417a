// A search: a sentence of aims and limits, designs as they are found, and a design that becomes the sheet.

import { parts, post } from "./workbench.js";

const at = (id) => document.getElementById(id);

export class Seek {
  constructor(bench) {
    this.bench = bench;
    this.running = null;
    /** It is this search that changes the text. */
    this.taking = false;
    at("seek-form").addEventListener("submit", (event) => {
      event.preventDefault();
      this.go();
    });
    at("seek-stop").addEventListener("click", () => this.stop("Stopped"));
  }

  question() {
    const aim = (which) => {
      const number = at(`seek-number-${which}`).value;
      return number ? [`${at(`seek-way-${which}`).value} ${number}`] : [];
    };
    return {
      ...this.bench.question(true),
      aims: [...aim("first"), ...aim("second")],
      within: at("seek-within").value,
      vary: at("seek-vary").value,
      designs: Number.parseInt(at("seek-designs").value, 10) || 200,
    };
  }

  async go() {
    this.running?.abort();
    const own = new AbortController();
    this.running = own;
    this.busy(true);
    at("seek-front").replaceChildren();
    at("seek-found").replaceChildren();
    this.tell(this.bench.sliders.moved.size ? "Seeking round the sheet as it stands, without the what-ifs …" : "Seeking …");
    try {
      const response = await post("seek", this.question(), own.signal);
      if (!response.ok) throw new Error(await response.text());
      for await (const part of parts(response)) {
        if (this.running !== own) return;
        if (part.part === "front") this.grow(part);
        if (part.part === "put") this.found(part);
      }
    } catch (error) {
      if (error.name !== "AbortError") this.tell(`The search ended: ${error.message}`);
    }
    if (this.running === own) this.busy(false);
  }

  stop(why) {
    if (!this.running) return;
    this.running.abort();
    this.busy(false);
    this.tell(`${why}, with ${this.solved ?? 0} designs solved. What was found so far can still be taken.`);
  }

  /** The sheet is another: a search round the old one is no longer wanted. */
  changed() {
    if (!this.taking) this.stop("The sheet was changed: the search has ended");
  }

  busy(busy) {
    if (!busy) this.running = null;
    at("seek-go").hidden = busy;
    at("seek-stop").hidden = !busy;
  }

  tell(words) {
    at("seek-told").textContent = words;
  }

  /** The front so far: every point can be taken. */
  grow({ solved, of, chart, designs }) {
    this.solved = solved;
    const share = `${solved} of ${of} designs solved`;
    const none = designs.length ? "" : "; none keeps all limits yet";
    const many = designs.length > 1 ? `; ${designs.length} that none beats: choose one and it is the sheet` : "";
    this.tell(`${share}${none}${many} …`);
    const place = at("seek-front");
    // What is held is not taken out of the hand.
    if (place.contains(document.activeElement)) return;
    const made = document.createElement("template");
    made.innerHTML = chart;
    const dots = [...made.content.querySelectorAll("circle")];
    if (dots.length === designs.length) {
      made.content.querySelector("svg").setAttribute("role", "group");
      dots.forEach((dot, k) => this.choice(dot, designs[k]));
      place.replaceChildren(made.content);
    } else {
      const best = designs[0];
      const button = document.createElement("button");
      button.type = "button";
      if (best) button.textContent = `Take it: ${best.label}, provisionally`;
      button.addEventListener("click", () => this.take(best));
      place.replaceChildren(...(best ? [button] : []));
    }
  }

  choice(dot, design) {
    dot.setAttribute("r", "6");
    dot.setAttribute("tabindex", "0");
    dot.setAttribute("role", "button");
    dot.setAttribute("class", "design");
    dot.setAttribute("aria-label", `Take the design with ${design.label}`);
    const title = document.createElementNS("http://www.w3.org/2000/svg", "title");
    title.textContent = design.label;
    dot.append(title);
    dot.addEventListener("click", () => this.take(design, dot));
    dot.addEventListener("keydown", (event) => {
      if (event.key !== "Enter" && event.key !== " ") return;
      event.preventDefault();
      this.take(design, dot);
    });
  }

  /** A design becomes the sheet; undo brings the old one back. */
  async take(design, dot) {
    this.taking = true;
    const wrong = await this.bench.write(design.entries);
    this.taking = false;
    for (const other of at("seek-front").querySelectorAll(".design[aria-pressed]")) other.removeAttribute("aria-pressed");
    dot?.setAttribute("aria-pressed", "true");
    this.tell(wrong.length ? wrong.map((told) => told.message).join(" ") : `The sheet is the design with ${design.label} now, and settles. Undo brings the old one back.`);
  }

  found({ html, failed }) {
    const made = document.createElement("template");
    made.innerHTML = html;
    const section = made.content.querySelector("section");
    section?.querySelector("h2")?.remove();
    // The front stands above, to be chosen from.
    section?.querySelector('figure[data-series="front"]')?.remove();
    at("seek-found").replaceChildren(...(section ?? made.content).childNodes);
    this.tell(failed ? "" : `${this.solved} designs solved. Choose one of those that are shown, and it is the sheet.`);
  }
}
