// What kind of call a call is, how it stands, and in which words.

/** Announced, then over by themselves. Every other kind stays until its cause is gone. */
const PLANNED = new Set(["turn", "flip", "pull_soon", "pull_hold"]);
/** These ask for an act of the plan; no fault caused them. */
const PROMPTS = new Set(["spot_due", "rest_done", "plan_step", "window"]);
/** These say that a steak has to come off now. */
const PULLS = new Set(["pull_now", "over"]);
const STATES = { unacknowledged: "unanswered", acknowledged: "answered", shelved: "put aside" };

export const isAlarm = (call) => !PLANNED.has(call.call);

/** An alarm to act on in seconds that nobody has answered. */
export const isUrgent = (call) => isAlarm(call) && call.priority === 1 && call.state === "unacknowledged";

/** Whether "Got it" is offered: alarms, and the pull call, whose repeats it mutes. */
export const isAnswerable = (call) =>
  call.state === "unacknowledged" && (isAlarm(call) || call.call === "pull_soon");

/** Whether it can be put aside for a while: never what is to be done in seconds. */
export const isShelvable = (call) => isAlarm(call) && call.priority > 1 && !call.here;

/** Whether the pull of a steak is called and not done, whoever answered the call. */
export const isPullDue = ({ steak, phase }, calls) => phase === "on"
  && liveAlarms(calls).some((call) => PULLS.has(call.call) && call.steaks.includes(steak));

/** Whether a call says that nobody hears the calls: it never stands before the pull it is about. */
const isUnheard = (call) => call.call === "unheard";

/** The open alarm that nobody hears the calls, or null. */
export const unheardOf = (calls) => calls.find((one) => isUnheard(one) && one.state === "unacknowledged") ?? null;

/** "Call", "Alarm" or "To do". */
export function kindOf(call) {
  if (PROMPTS.has(call.call) && call.priority > 1) return "To do";
  return isAlarm(call) ? "Alarm" : "Call";
}

/** How it stands: "unanswered", "answered", "put aside". */
export const stateOf = ({ state }) => STATES[state] ?? state;

/** What most needs somebody first; of planned calls before lasting alarms, unless seconds count. */
export function byUrgency(one, other) {
  const due = (call) => call.t + (call.in_s ?? 0);
  const alarmsFirst = one.priority === 1 ? -1 : 1;
  return one.priority - other.priority || isUnheard(one) - isUnheard(other)
    || alarmsFirst * (isAlarm(one) - isAlarm(other))
    || due(one) - due(other) || other.t - one.t;
}

/** Whether two calls ask the same thing of the same steak. */
export function saysTheSame(one, other) {
  if (one.call !== other.call) return false;
  return one.steaks.length ? one.steaks.some((name) => other.steaks.includes(name)) : !other.steaks.length;
}

/** Alarms that live, answered or not, the most urgent first. */
export function liveAlarms(calls) {
  const open = { unacknowledged: 0, acknowledged: 1, shelved: 2 };
  return calls.filter((call) => isAlarm(call) && call.state in open)
    .sort((a, b) => open[a.state] - open[b.state] || byUrgency(a, b));
}

/** The words of several calls as one sentence; degrees keep to their numbers. */
export const joined = (calls) => calls.map((call) => call.text.replaceAll(" °", "\u00a0°")).join(". ");
