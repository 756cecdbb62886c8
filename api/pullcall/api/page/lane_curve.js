// A lane's curve: the chart, the key over it that opens it in large, and its table for listeners.

import { Chart } from "./chart.js";
import { CurveTable } from "./curve_table.js";
import { button, make } from "./dom.js";
import { title } from "./acts.js";

export class LaneCurve {
  constructor(name, acts) {
    this.chart = new Chart(`${title(name)}: core temperature and forecast`);
    this.table = new CurveTable(name);
    const key = button("", () => acts.openCurve(), { kind: "curvekey", name: `${title(name)}: curve and table` });
    this.node = make("div", { class: "lanecurve" }, this.chart.node, key);
    this.unseen = make("div", { class: "unseen" }, this.table.node);
  }

  paint(steak, board, unit, t) {
    this.chart.paint([steak], board, unit, t);
    this.table.paint(steak, board, unit);
  }
}
