// A panel over the lanes. The top of the screen stays free, so calls are seen through it.

import { button, make } from "./dom.js";

export class Sheet {
  constructor() {
    this.open = null;
  }

  /** Show a panel: `{title, body, paint?, kind?}`. The one before it goes. */
  show({ title, body, paint, kind = "" }) {
    this.close();
    const shut = button("Close", () => this.close(), { kind: "shut" });
    const node = make("section", { class: `sheet ${kind}`.trim(), role: "dialog", "aria-label": title },
      make("div", { class: "sheethead" }, make("h2", {}, title), shut), body);
    this.before = document.activeElement;
    document.body.append(node);
    this.open = { node, paint };
    shut.focus({ preventScroll: true });
  }

  paint(...knowledge) {
    this.open?.paint?.(...knowledge);
  }

  close() {
    if (!this.open) return;
    this.open.node.remove();
    this.open = null;
    this.before?.focus?.({ preventScroll: true });
  }
}

/** Large minus and plus keys round a number. `read` and `write` speak the shown unit. */
export function stepper(label, steps, { read, write, say }) {
  const value = make("output", { class: "value" }, say(read()));
  const move = (by) => {
    write(read() + by);
    value.textContent = say(read());
  };
  const key = (by) => button(`${by < 0 ? "−" : "+"}${Math.abs(by)}`, () => move(by), {
    rest: 0, name: `${label}: ${by < 0 ? "less" : "more"} by ${Math.abs(by)}`,
  });
  const node = make("div", { class: "stepper", role: "group", "aria-label": label },
    make("p", { class: "steplabel" }, label),
    make("div", { class: steps.length > 1 ? "steps four" : "steps" },
      ...steps.map((by) => key(-by)).reverse(), value, ...steps.map((by) => key(by))));
  return { node, refresh: () => { value.textContent = say(read()); } };
}

const SEND_AFTER_MS = 700; // several taps are one change

/** A stepper that sends its value once the tapping stops. `say(value, touched)` words it. */
export function lateStepper(label, steps, { value, say, send }) {
  let shown = value;
  let touched = false;
  let timer = 0;
  return stepper(label, steps, {
    read: () => shown,
    write: (to) => {
      shown = to;
      touched = true;
      clearTimeout(timer);
      timer = setTimeout(() => send(shown), SEND_AFTER_MS);
    },
    say: (to) => say(to, touched),
  }).node;
}
