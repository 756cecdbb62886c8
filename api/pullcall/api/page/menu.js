// Settings of this phone (unit, theme, sound) and of the cook (temperatures, phones, a new cook).

import { button, make, refill, show, text } from "./dom.js";
import { liveAlarms } from "./alarms.js";
import { stepper, sureKey } from "./sheet.js";
import { title } from "./acts.js";
import { CHARCOAL, FOOD } from "./cautions.js";
import { lostWords } from "./lines.js";
import { outletWords } from "./words.js";

/** Which keys there are follows from what this phone may do. */
export function menuPanel({ viewing, live, unit, sound, awake, link }, acts) {
  const { board } = viewing.shown;
  const rest = choice(acts, "rest_on", "Rest on", { rack: "rack", board: "board" });
  const climb = choice(acts, "carry_over", "Carry-over", { forecast: "forecast", five_degrees: "5 °F rule" });
  const alarms = button("", () => acts.openAlarms());
  const outlets = make("div", {});
  const lost = make("p", { class: "refused" });
  const way = make("p", {});
  const screen = make("p", {});
  const paint = (now) => {
    rest.paint(now);
    climb.paint(now);
    const { length } = liveAlarms(now.calls);
    text(alarms, `Alarms: ${length}`);
    show(alarms, length > 0);
    const told = now.acting && !now.isReplay ? now.outlets.map(outletWords) : [];
    refill(outlets, told.join("\n"), () => told.map((words) => make("p", {}, `${words}.`)));
    const unheard = now.isReplay ? null : lostWords(now, link, sound.armed && now.acting);
    text(lost, unheard ?? "");
    show(lost, unheard !== null);
    text(way, `Link: ${wayOf(link, live.clock)}`);
    text(screen, `Screen stays on: ${awake.words}`);
  };
  paint(board);
  const keys = [
    ...(board.isBlind ? [] : [button("Plan", () => acts.openPlan())]),
    ...(board.acting && !board.isReplay ? taking(board, acts) : []),
    ...(board.isBlind ? [] : [button("Choose", () => acts.openChoose())]),
    button(`Unit: °${unit.name}`, () => acts.switchUnit()),
    button(`Theme: ${acts.theme()}`, () => acts.switchTheme()),
    ...(board.acting ? [speechKey(sound), button("Logbook", () => acts.openLogbook())] : []),
    ...(board.ruling ? [rest.node, climb.node, newCook(acts)] : []),
    ...(board.visitor.may("rule") || board.visitor.here || board.visitor.board ? [] : [forgetKey(acts)]),
  ];
  const body = make("div", {}, lost, make("div", { class: "plankeys" }, alarms), make("div", { class: "grid menukeys" }, ...keys),
    ...(board.acting ? sounding(board, sound, acts) : []),
    make("div", { class: "ways" }, outlets, way, screen),
    ...[CHARCOAL, FOOD].map((words) => make("p", { class: "caution" }, words)));
  return { title: "Menu", body, paint };
}

/** Keys of those who take part; some only for those who decide. */
function taking(board, acts) {
  const own = ({ steak }) => button(`${title(steak)} steak`, () => acts.openSteak(steak), { name: `${title(steak)} steak: settings` });
  return [
    ...(board.ruling ? [button("Window", () => acts.openWindow())] : []),
    button("Fire", () => acts.openFire()),
    button("Probes", () => acts.openProbes()),
    ...(board.visitor.may("rule") ? [button("Phones", () => acts.openPhones())] : []),
    ...(board.ruling ? board.steaks.map(own) : []),
  ];
}

function sounding(board, sound, acts) {
  return [
    make("p", { class: "steplabel" }, "Sound volume"),
    make("div", { class: "sound" }, volume(sound), button("Test sound", () => acts.arm())),
    ...(board.steaks.length > 1 ? [pitches(board)] : []),
  ];
}

/** "live, 12 ms": the quickest round trip of late. */
function wayOf({ wayWords, live }, clock) {
  if (wayWords === null) return "none, looking for the site";
  const trip = live === "events" ? null : clock.tripMs();
  return trip === null ? wayWords : `${wayWords}, ${Math.max(1, Math.round(trip))} ms`;
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

/** Whether this phone says the calls after their tones. */
function speechKey(sound) {
  const words = () => `Speech: ${sound.speech ? "on" : "off"}`;
  const node = button(words(), () => {
    sound.setSpeech(!sound.speech);
    text(node, words());
  });
  return node;
}

function volume(sound) {
  return stepper("Sound volume", [10], {
    read: () => Math.round(sound.volume * 100),
    write: (percent) => sound.setVolume(percent / 100),
    say: (percent) => `${percent} %`,
  }).node;
}

const newCook = (acts) => sureKey("Start a new cook", "Tap again: this cook ends", () => acts.newCook(), { kind: "newcook" });

export const forgetKey = (acts) => sureKey("Forget this phone", "Tap again: not paired then", () => acts.forgetPhone(), { kind: "newcook" });
