// The room above the lanes while no meat is on: the plan before, the choice after.

import { attr, refill, show } from "./dom.js";
import { Choose } from "./choose.js";
import { Plan } from "./plan.js";

export class Stage {
  constructor(node, acts) {
    this.node = node;
    this.plan = new Plan(acts);
    this.choose = new Choose(acts);
  }

  paint(board, unit, t) {
    const view = board.ready ? { before: this.plan, after: this.choose }[board.stage] : undefined;
    show(this.node, view !== undefined);
    attr(this.node, "aria-label", { before: "Plan", after: "Choose" }[board.stage] ?? null);
    if (!view) return;
    refill(this.node, board.stage, () => [view.node]);
    view.paint(board, unit, t);
  }
}
