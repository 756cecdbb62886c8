// Settings of this phone (unit, theme, sound) and of the cook (temperatures, a new cook).

import { attr, button, make, text } from "./dom.js";
import { title } from "./acts.js";
import { stepper } from "./sheet.js";

const SURE_MS = 5000;

export function menuPanel(board, unit, sound, acts) {
  const writable = board.writable;
  const rest = choice(acts, "rest_on", "Rest on", { rack: "rack", board: "board" });
  const climb = choice(acts, "carry_over", "Carry-over", { forecast: "forecast", five_degrees: "5 °F rule" });
  const paint = (now) => { rest.paint(now); climb.paint(now); };
  paint(board);
  const body = make("div", {},
    make("div", { class: "grid" },
      button("Plan", () => acts.openPlan()),
      button("Window", () => acts.openWindow()),
      button("Fire", () => acts.openFire()),
      button("Probes", () => acts.openProbes()),
      ...board.steaks.map(({ steak }) => button(`${title(steak)}`, () => acts.openSteak(steak), { name: `${title(steak)}: settings` })),
      button("Choose", () => acts.openChoose()),
      button(`Unit: °${unit.name}`, () => acts.switchUnit()),
      button(`Theme: ${acts.theme()}`, () => acts.switchTheme()),
      speechKey(sound),
      ...(writable ? [rest.node, climb.node, newCook(acts)] : [])),
    make("p", { class: "steplabel" }, "Sound volume"),
    make("div", { class: "sound" }, volume(sound), button("Test sound", () => acts.arm())),
    ...(board.steaks.length > 1 ? [pitches(board)] : []));
  return { title: "Menu", body, paint };
}

function pitches({ steaks: [low, high] }) {
  return make("p", { class: "pitches" }, `${title(low.steak)} sounds low, ${high.steak} sounds high.`);
}

/** A setting of the cook with a few values, `words` for each: a tap takes the next. */
function choice(acts, name, label, words) {
  const values = Object.keys(words);
  let now = values[0];
  const node = button("", () => {
    const next = values[(values.indexOf(now) + 1) % values.length];
    acts.setCook(name, next, `${label}: ${words[next]}`);
  });
  const paint = ({ cook }) => {
    now = cook?.[name] ?? values[0];
    text(node, `${label}: ${words[now]}`);
  };
  return { node, paint };
}

function volume(sound) {
  return stepper("Sound volume", [10], {
    read: () => Math.round(sound.volume * 100),
    write: (percent) => sound.setVolume(percent / 100),
    say: (percent) => `${percent} %`,
  }).node;
}

/** Whether this phone says the calls after their tones. */
function speechKey(sound) {
  const words = () => `Speech: ${sound.speech ? "on" : "off"}`;
  const node = button(words(), () => {
    sound.setSpeech(!sound.speech);
    text(node, words());
  });
  return node;
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
    node.textContent = "Tap again: this cook ends";
    attr(node, "class", "newcook strong");
    armed = setTimeout(() => {
      armed = 0;
      node.textContent = "Start a new cook";
      attr(node, "class", "newcook");
    }, SURE_MS);
  }, { kind: "newcook", rest: 500 });
  return node;
}
