// The turn-in window, the moment aimed for in it, the steaks' offset, and the cook's own durations.

import { attr, button, make, show, text } from "./dom.js";
import { rangeText, wallTime } from "./words.js";
import { stepper } from "./sheet.js";
import { title } from "./acts.js";

/** Steps that take time, in the order of the day. */
const STEPS = {
  season: "Season", cold: "Keep cold", light: "Light the chimney", pour: "Pour the coal", heat_up: "Heat the grate",
  fetch: "Fetch the steaks", cook: "On the grate", rest: "Rest", box: "Box", walk: "Walk to turn-in",
};

/** `take(change)` sends it; its answer is a refusal's sentence or null. */
export function windowPanel(board, acts) {
  const { cook, steaks } = board;
  const wall = (i) => (cook.window_t ? wallTime(board.wall(cook.window_t[i])) : "");
  const field = (label, type, value, hint = "") => make("input", { type, value, placeholder: hint, "aria-label": label, autocomplete: "off" });
  const opens = field("Opens", "time", wall(0));
  const closes = field("Closes", "time", wall(1));
  let share = Math.round(cook.aim_share * 100);
  let offset = Math.round(cook.offset_s);
  const aim = stepper("Aim in the window", [10], { read: () => share, write: (to) => { share = Math.min(100, Math.max(0, to)); }, say: aimedAt });
  const apart = stepper(steaks.length > 1 ? `${title(steaks[1].steak)} goes on later by` : "Second steak goes on later by", [5, 30],
    { read: () => offset, write: (to) => { offset = Math.max(0, to); }, say: (to) => `${to} s` });
  const durations = Object.entries(STEPS).map(([name, label]) => {
    const own = cook.durations?.[name];
    const step = board.plan?.steps.find((one) => one.name === name);
    const usual = step ? rangeText(step) : "7-10 min";
    return { name, own: own ? rangeText(own) : "", node: field(label, "text", own ? rangeText(own) : "", usual), label };
  });
  const refused = make("p", { class: "refused", role: "alert", hidden: true });
  const send = async (change) => {
    const sentence = await acts.changeCook(change);
    text(refused, sentence ?? "");
    show(refused, sentence !== null);
  };
  const save = () => {
    const change = { aim_share: share / 100, offset_s: offset };
    if (share === Math.round(cook.aim_share * 100)) delete change.aim_share;
    if (offset === Math.round(cook.offset_s)) delete change.offset_s;
    const changed = opens.value !== wall(0) || closes.value !== wall(1);
    if (changed) change.window = opens.value && closes.value ? `${opens.value}-${closes.value}` : null;
    const own = durations.map(({ name, own: before, node }) => [name, before, node.value.trim()]).filter(([, before, now]) => before !== now);
    if (own.length) change.durations = Object.fromEntries(own.map(([name, , now]) => [name, now || null]));
    return send(change);
  };
  const keys = [button("Save", save, { kind: "go" })];
  if (cook.window) keys.push(button("No window", () => send({ window: null })));
  if (board.readiness.some((check) => check.name === "clock" && !check.ok)) {
    keys.push(button("Set the site's clock by this phone", () => send({ wall: new Date().toISOString() })));
  }
  const body = make("div", { class: "form" },
    make("div", { class: "pair" }, labelled("Opens", opens), labelled("Closes", closes)),
    refused, make("div", { class: "plankeys" }, ...keys),
    aim.node, ...(steaks.length > 1 ? [apart.node] : []),
    make("p", { class: "steplabel" }, "How long your steps take (empty: as usual)"),
    make("div", { class: "durations" }, ...durations.map(({ label, node }) => labelled(label, node))));
  const paint = (now) => { for (const key of keys) attr(key, "disabled", !now.writable); };
  return { title: "Turn-in", body, paint };
}

const SHARES = { 0: "as it opens", 50: "the middle", 100: "as it closes" };
const THIRDS = [[1 / 3, "one third in"], [2 / 3, "two thirds in"]];

/** How far into the window the hand-in is aimed, in words where there are some: "one third in". */
export function aimedAt(percent) {
  const third = THIRDS.find(([share]) => Math.round(share * 100) === percent);
  return SHARES[percent] ?? third?.[1] ?? `${percent} % in`;
}

const labelled = (label, node) => make("label", {}, make("span", {}, label), node);
