// The pens that chart.css gives to an SVG drawing, for drawing on a canvas: one look, two engines.

import { draw } from "./dom.js";

let themes = 0; // counts up when day turns to night
new MutationObserver(() => { themes += 1; }).observe(document.documentElement, { attributeFilter: ["data-theme"] });
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => { themes += 1; });

/** Changes when the colours do: a drawing made before is out of date. */
export const themeNow = () => themes;

export class Pens {
  constructor() {
    this.node = draw("svg", { class: "pens", "aria-hidden": "true" });
    this.known = new Map();
    this.theme = themes;
  }

  /** `{stroke, width, dash, fill, font}` of a role in a lane (null: in none). */
  of(role, lane) {
    if (this.theme !== themes) this.known.clear();
    this.theme = themes;
    const key = `${role} ${lane}`;
    if (!this.known.has(key)) this.known.set(key, this.read(lane === null ? role : `${role} lane${lane}`));
    return this.known.get(key);
  }

  read(classes) {
    const probe = draw("line", { class: classes });
    this.node.replaceChildren(probe);
    const { stroke, strokeWidth, strokeDasharray, strokeDashoffset, fill, opacity, fontWeight, fontSize, fontFamily } = getComputedStyle(probe);
    const pen = {
      stroke: stroke === "none" ? null : stroke,
      width: parseFloat(strokeWidth),
      dash: strokeDasharray === "none" ? [] : strokeDasharray.split(",").map(parseFloat),
      shift: parseFloat(strokeDashoffset),
      fill: fill === "none" ? null : fill,
      opacity: Number(opacity),
      font: `${fontWeight} ${fontSize} ${fontFamily}`,
    };
    probe.remove();
    return pen;
  }
}
