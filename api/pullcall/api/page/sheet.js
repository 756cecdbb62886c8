// A panel over the lanes. The top of the screen stays free, so calls are seen through it.

import { attr, button, make } from "./dom.js";

export class Sheet {
  /** `behind`: what lies below an open panel, and is out of reach meanwhile; `shown()` paints it. */
  constructor(behind, shown) {
    this.behind = behind;
    this.shown = shown;
    this.open = null;
  }

  /** Show a panel: `{title, body, paint?, leave?, kind?}`. The one before it goes. */
  show({ title, body, paint, leave, kind = "" }) {
    this.close();
    const shut = button("Close", () => this.close(), { kind: "shut" });
    const node = make("section", { class: `sheet ${kind}`.trim(), role: "dialog", "aria-label": title },
      make("div", { class: "sheethead" }, make("h2", {}, title), shut), body);
    this.before = document.activeElement;
    document.body.append(node);
    this.open = { node, paint, leave };
    this.block(true);
    this.shown();
    shut.focus({ preventScroll: true });
  }

  paint(...knowledge) {
    this.open?.paint?.(...knowledge);
  }

  close() {
    if (!this.open) return;
    const { node, leave } = this.open;
    this.open = null;
    node.remove();
    leave?.();
    this.block(false);
    this.giveBack();
  }

  /** The focus goes back to what opened the panel, or where that is gone, to the menu's key. */
  giveBack() {
    this.before?.focus?.({ preventScroll: true });
    if (document.activeElement === document.body) this.behind.at(-1).lastElementChild?.focus({ preventScroll: true });
  }

  block(isOpen) {
    for (const node of this.behind) attr(node, "inert", isOpen);
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

const SURE_MS = 5000;

/** Two taps in five seconds, so that a stray knuckle ends nothing. */
export function sureKey(label, question, act, { kind = "", name = null } = {}) {
  let timer = 0;
  const ask = (isAsking) => {
    clearTimeout(timer);
    timer = isAsking ? setTimeout(() => ask(false), SURE_MS) : 0;
    node.textContent = isAsking ? question : label;
    attr(node, "class", isAsking ? `${kind} strong`.trim() : kind);
    attr(node, "aria-label", name && `${isAsking ? question : label}: ${name}`);
  };
  const node = button(label, () => {
    const isSure = timer !== 0;
    ask(!isSure);
    if (isSure) act();
  }, { rest: 500 });
  ask(false);
  return node;
}

/** Keys of which one is chosen: `options` as [[value, label]]. `chosen(value)` hears of it. */
export function oneOf(label, options, value, chosen) {
  const keys = options.map(([own, words]) => button(words, () => choose(own), { rest: 0 }));
  const choose = (to) => {
    keys.forEach((node, i) => attr(node, "aria-pressed", String(options[i][0] === to)));
    chosen(to);
  };
  choose(value);
  return make("div", { role: "group", "aria-label": label },
    make("p", { class: "steplabel" }, label), make("div", { class: "oneof" }, ...keys));
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
