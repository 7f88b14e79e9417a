// The height of the probe as a line over the face, above the scan that is read along it: dragged, or moved by arrow keys.

import { plain } from "./sliders.js";

const SVG = "http://www.w3.org/2000/svg";
const CHART = '#field figure[data-series="face_scan"]';

export class Probe {
  constructor(bench) {
    this.bench = bench;
    /** As the server tells it; none where there is no face. */
    this.known = null;
    this.place = document.createElement("div");
    this.place.className = "drawing probe";
    this.place.addEventListener("pointerdown", (event) => this.press(event));
    this.place.addEventListener("keydown", (event) => this.key(event));
  }

  /** What the text says. */
  show(probe) {
    const before = this.known?.svg;
    this.known = probe;
    if (probe?.svg && probe.svg !== before) {
      this.place.innerHTML = probe.svg;
      this.line();
    }
    this.renew();
  }

  /** The chart is another: the line stays above it, on its abscissa. */
  renew() {
    const chart = document.querySelector(`${CHART} > svg`);
    if (!chart || !this.known?.svg) {
      this.place.remove();
      return;
    }
    if (this.place.nextElementSibling !== chart) chart.before(this.place);
    const [from, to] = chart.dataset.ends.split(" ").map(Number);
    const width = chart.viewBox.baseVal.width;
    const { style } = this.place.querySelector("svg");
    style.marginLeft = `${(100 * from) / width}%`;
    style.width = `${(100 * (to - from)) / width}%`;
    this.draw();
  }

  /** The scan of the field, at once. */
  scan(html) {
    const chart = document.querySelector(`${CHART} > svg`);
    if (!chart) return;
    const made = document.createElement("template");
    made.innerHTML = html;
    chart.replaceWith(made.content.firstElementChild);
    chart.parentElement?.setAttribute("data-quick", "yes");
    document.querySelector(CHART).dataset.quick = "yes";
    this.renew();
  }

  line() {
    const svg = this.place.querySelector("svg");
    svg.setAttribute("role", "group");
    svg.setAttribute("aria-label", "The face in section, with the probe above it");
    this.handle = document.createElementNS(SVG, "g");
    this.handle.setAttribute("class", "height");
    for (const [name, value] of [["tabindex", "0"], ["role", "slider"], ["aria-label", "Height of the probe above the face"], ["aria-orientation", "vertical"]]) {
      this.handle.setAttribute(name, value);
    }
    const parts = ["hit", "dim"].map((name) => {
      const line = document.createElementNS(SVG, "line");
      line.setAttribute("class", name);
      return line;
    });
    const text = document.createElementNS(SVG, "text");
    this.handle.append(...parts, text);
    svg.append(this.handle);
  }

  /** In the unit of the slider. */
  get value() {
    return this.bench.sliders.moved.get(this.known.slider.path)?.number ?? this.known.slider.value;
  }

  /** Units of the drawing to one of the slider. */
  get perUnit() {
    const svg = this.place.querySelector("svg");
    return (1000 * Number(svg.dataset.unitsPerMm) * this.known.value_m) / this.known.slider.value;
  }

  draw() {
    const svg = this.place.querySelector("svg");
    const { slider } = this.known;
    const { width } = svg.viewBox.baseVal;
    const face = this.face();
    const y = Math.max(2, face - this.value * this.perUnit);
    for (const line of this.handle.querySelectorAll("line")) {
      for (const [name, value] of [["x1", 0], ["x2", width], ["y1", y], ["y2", y]]) line.setAttribute(name, value);
    }
    const text = this.handle.querySelector("text");
    text.textContent = `probe, ${plain(this.value, slider.step)} ${slider.unit} above the face`;
    text.setAttribute("x", width);
    text.setAttribute("text-anchor", "end");
    text.setAttribute("y", y < 24 ? y + 20 : y - 7);
    for (const [name, value] of [["aria-valuemin", slider.least], ["aria-valuemax", slider.most], ["aria-valuenow", this.value], ["aria-valuetext", text.textContent]]) {
      this.handle.setAttribute(name, value);
    }
  }

  /** Where the face is, in the drawing's units. */
  face() {
    return Number(this.place.querySelector("[data-face]").dataset.face);
  }

  to(number) {
    const { slider } = this.known;
    const stepped = Math.round(number / slider.step) * slider.step;
    this.bench.sliders.to(slider, Math.min(Math.max(stepped, slider.least), slider.most));
    this.draw();
  }

  press(event) {
    if (event.button !== 0) return;
    event.preventDefault();
    const svg = this.place.querySelector("svg");
    this.handle.focus({ preventScroll: true });
    const move = (now) => {
      const { y } = new DOMPoint(now.clientX, now.clientY).matrixTransform(svg.getScreenCTM().inverse());
      this.to((this.face() - y) / this.perUnit);
    };
    const end = () => {
      document.removeEventListener("pointermove", move);
      document.removeEventListener("pointerup", end);
      document.removeEventListener("pointercancel", end);
    };
    move(event);
    document.addEventListener("pointermove", move);
    document.addEventListener("pointerup", end);
    document.addEventListener("pointercancel", end);
  }

  key(event) {
    const by = { ArrowUp: 1, ArrowRight: 1, ArrowDown: -1, ArrowLeft: -1, PageUp: 10, PageDown: -10 }[event.key];
    if (!by || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    this.to(this.value + by * this.known.slider.step * (event.shiftKey ? 10 : 1));
  }
}
