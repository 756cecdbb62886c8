// Lines of a lane that is too low for all of them: the least needed go whole, none is cut.

import { attr } from "./dom.js";

const FIRST_TO_GO = ["aim", "rise", "peak", "spread", "size"]; // at last the digits' own size
const LINES = ["aim", "rise", "peak", "spread", "label", "pull", "core", "cametrue", "why", "flagged", "asked"];

export class Fit {
  /** `lines` has each line of `face` by its name. */
  constructor(node, face, lines) {
    Object.assign(this, { node, face, lines });
    this.key = "";
    this.size = "";
    new ResizeObserver(([{ contentRect: { width, height } }]) => { this.size = `${width} ${height}`; }).observe(node);
  }

  /** Measures only where a line or the lane changed, for measuring costs a slow phone dear. */
  paint() {
    const { digits } = this.lines;
    const key = [this.size, digits.textContent.length, ...LINES.map((name) => this.lengthOf(name))].join(" ");
    if (key === this.key) return;
    this.key = key;
    for (let gone = 0; gone <= FIRST_TO_GO.length; gone += 1) {
      attr(this.node, "data-gone", FIRST_TO_GO.slice(0, gone).join(" ") || null);
      if (this.face.scrollHeight <= this.face.clientHeight) return;
    }
  }

  lengthOf(name) {
    const { hidden, textContent } = this.lines[name];
    return hidden ? "-" : textContent.length;
  }
}
