// The picture of the field: what it is under the pointer, or under a cursor that the arrow keys move.

import { Latest } from "./latest.js";
import { post } from "./workbench.js";

const at = (id) => document.getElementById(id);
const SVG = "http://www.w3.org/2000/svg";
/** After so long without a move the value is settled, and read out, ms. */
const REST = 350;

export class Picture {
  constructor(bench) {
    this.bench = bench;
    /** Where the cursor is, in the figure, m. */
    this.place = null;
    this.quick = new Latest(() => this.once());
    this.timer = 0;
    this.settling = null;
    this.reading = document.createElement("p");
    this.reading.className = "reading";
    this.reading.id = "value";
    this.said = document.createElement("span");
    this.said.className = "unseen";
    this.said.setAttribute("role", "status");
    document.addEventListener("pointermove", (event) => this.point(event));
    document.addEventListener("pointerdown", (event) => this.point(event));
    document.addEventListener("keydown", (event) => this.key(event));
  }

  /** Another picture is there: the cursor stays, its value is asked for again. */
  renew() {
    const figure = at("flux");
    const svg = figure?.querySelector("svg");
    if (!svg) return;
    if (!svg.dataset.ready) {
      svg.dataset.ready = "yes";
      const held = document.activeElement === document.body && this.focused;
      svg.setAttribute("tabindex", "0");
      svg.setAttribute("role", "application");
      svg.setAttribute("aria-label", "The field in the magnet's section. Arrow keys move a cursor that reads it.");
      svg.addEventListener("focus", () => this.focus());
      svg.addEventListener("blur", () => (this.focused = svg.isConnected ? false : this.focused));
      svg.after(this.reading, this.said);
      if (held) svg.focus({ preventScroll: true });
    }
    if (!this.place) this.reading.textContent = "Point at a place, or move there with the arrow keys, to read the field.";
    this.draw();
    if (this.place) this.ask();
  }

  get svg() {
    return at("flux")?.querySelector("svg");
  }

  /** From the figure's metres to the drawing's units, and back. */
  view() {
    const { unitsPerMm, origin } = this.svg.dataset;
    const scale = 1000 * Number(unitsPerMm);
    const [x, y] = origin.split(" ").map(Number);
    return { to: ([u, v]) => [x + scale * u, y - scale * v], from: ([u, v]) => [(u - x) / scale, (y - v) / scale] };
  }

  /** Left, top, width and height of the picture, in the drawing's units. */
  area() {
    return this.svg.querySelector("[data-area]").dataset.area.split(" ").map(Number);
  }

  point(event) {
    const svg = event.target.closest?.("#flux svg");
    if (!svg) return;
    const { x, y } = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
    this.move(this.view().from([x, y]));
  }

  focus() {
    this.focused = true;
    if (this.place) return;
    const [x, y, width, height] = this.area();
    this.move(this.view().from([x + width / 2, y + height / 2]));
  }

  key(event) {
    if (event.target !== this.svg || event.ctrlKey || event.metaKey || event.altKey) return;
    const [across, along] =
      { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key] ?? [0, 0];
    if (!across && !along) return;
    event.preventDefault();
    // A pixel or so, or ten of them.
    const [x, , width] = this.area();
    const [left, right] = [x, x + width].map((end) => this.view().from([end, 0])[0]);
    const step = ((right - left) / 300) * (event.shiftKey ? 10 : 1);
    this.move([this.place[0] + across * step, this.place[1] + along * step]);
  }

  move(place) {
    const [x, y, width, height] = this.area();
    const [u, v] = this.view().to(place);
    this.place = this.view().from([Math.min(Math.max(u, x), x + width), Math.min(Math.max(v, y), y + height)]);
    this.draw();
    this.ask();
  }

  /** The cursor as a cross. */
  draw() {
    const { svg } = this;
    svg.querySelector(".cursor")?.remove();
    if (!this.place) return;
    const [u, v] = this.view().to(this.place);
    const cross = document.createElementNS(SVG, "path");
    cross.setAttribute("class", "cursor");
    cross.setAttribute("d", `M${u - 14} ${v}h10m8 0h10M${u} ${v - 14}v10m0 8v10`);
    svg.append(cross);
  }

  /** At once, one question at a time; settled after a rest. */
  async ask() {
    clearTimeout(this.timer);
    this.settling?.abort();
    this.reading.dataset.stale = "yes";
    if (await this.quick.run()) this.timer = setTimeout(() => this.read(true), REST);
  }

  async once() {
    const started = performance.now();
    if (await this.read(false)) performance.measure("value", { start: started });
  }

  async read(settle) {
    const own = new AbortController();
    this.settling = settle ? own : null;
    const place = this.place;
    try {
      const response = await post("value", { ...this.bench.question(settle), place_m: place }, own.signal);
      if (place !== this.place) return false;
      if (response.ok) this.show(await response.json(), settle);
      else this.reading.textContent = await response.text();
      return response.ok;
    } catch {
      // Superseded, or the server is gone, which is told elsewhere.
      return false;
    }
  }

  show({ place, inside, size, across, along, range, settled }, last) {
    const words = inside
      ? `Inside steel or a magnet (${inside}): no reading`
      : `${size} (${range}${settled ? "" : " by the mesh alone"}): ${across} across, ${along} along the axis`;
    const number = document.createElement("b");
    number.textContent = inside ? words : size;
    const rest = inside ? "" : words.slice(size.length);
    this.reading.replaceChildren(number, `${rest}; ${place}.${settled || inside ? "" : " Settling "}`);
    this.reading.toggleAttribute("data-quick", !settled && !inside);
    delete this.reading.dataset.stale;
    if (last) this.said.textContent = `${words}; ${place}.`;
  }
}
