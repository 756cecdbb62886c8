// Settings of this phone (unit, theme, sound) and of the cook (temperatures, a new cook).

import { attr, button, make } from "./dom.js";
import { title } from "./acts.js";
import { stepper } from "./sheet.js";

const SEND_AFTER_MS = 700; // several taps on a stepper are one change
const SURE_MS = 5000;

export function menuPanel(board, unit, sound, acts) {
  const writable = board.writable;
  const body = make("div", {},
    make("div", { class: "grid" },
      button("Probes", () => acts.openProbes()),
      button(`Unit: °${unit.name}`, () => acts.switchUnit()),
      button(`Look: ${acts.theme()}`, () => acts.switchTheme()),
      button("Test sound", () => acts.arm())),
    volume(sound),
    ...(writable ? board.steaks.flatMap((steak) => temperatures(steak, unit, acts)) : []),
    ...(writable ? [newCook(acts)] : []));
  return { title: "Menu", body };
}

function volume(sound) {
  return stepper("Sound volume", [10], {
    read: () => Math.round(sound.volume * 100),
    write: (percent) => sound.setVolume(percent / 100),
    say: (percent) => `${percent} %`,
  }).node;
}

function temperatures(steak, unit, acts) {
  const who = title(steak.steak);
  const field = (label, key, celsius) => {
    let shown = Math.round(unit.show(celsius) * 10) / 10;
    let timer = 0;
    return stepper(label, [1], {
      read: () => shown,
      write: (value) => {
        shown = value;
        clearTimeout(timer);
        timer = setTimeout(() => acts.set(steak.steak, { [key]: unit.read(shown) }), SEND_AFTER_MS);
      },
      say: (value) => `${value.toFixed(1)} °${unit.name}`,
    }).node;
  };
  const fields = [field(`${who}: pull at`, "pull_c", steak.pull_c)];
  if (steak.target_c !== null) fields.push(field(`${who}: target`, "target_c", steak.target_c));
  return fields;
}

/** Two taps in five seconds, so that a stray knuckle does not end a cook. */
function newCook(acts) {
  let armed = 0;
  const node = button("Start a new cook", () => {
    if (armed) {
      clearTimeout(armed);
      acts.newCook();
      return;
    }
    node.textContent = "Tap again: this cook ends, its log stays";
    attr(node, "class", "wide strong");
    armed = setTimeout(() => {
      armed = 0;
      node.textContent = "Start a new cook";
      attr(node, "class", "wide");
    }, SURE_MS);
  }, { kind: "wide", rest: 500 });
  return make("div", { class: "newcook" }, node);
}
