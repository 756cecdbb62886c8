// Which call stands at the top of the screen.

import { byUrgency, isAlarm, isAnswerable } from "./alarms.js";

const SHOWN_S = 8; // cook seconds, after which the words of a planned call are out of date
const SHOWN_AT_LEAST_MS = 1500;

export class Top {
  /** `clock` is the one that the board's calls go by. */
  constructor(board, clock) {
    Object.assign(this, { board, clock });
    this.held = null; // {id, since}: the call at the top, in ms
    this.read = new Set(); // ids of calls that stood there long enough
  }

  /**
   * The calls at the top: the most urgent one, with those of its kind or its moment that one
   * answer, or one look, settles as well. `local` are the calls this phone made by itself.
   */
  calls(local, t, ms) {
    const calls = [...this.board.calls, ...local];
    const waiting = calls.filter((call) => this.isShown(call, t) && !calls.some((one) => follows(one, call)));
    const first = this.hold(waiting.sort(byUrgency), ms);
    return first === null ? [] : [first, ...waiting.filter((one) => one !== first && belongs(one, first))];
  }

  /** The first call, unless the one before it has not yet had its time: an alarm never waits. */
  hold(waiting, ms) {
    const first = waiting[0] ?? null;
    const before = waiting.find((one) => one.id === this.held?.id);
    const young = before && before.call !== "unheard" && ms - this.held.since < SHOWN_AT_LEAST_MS;
    if (young && before.priority <= first.priority && !(isAlarm(first) && !isAlarm(before))) return before;
    if (first?.id !== this.held?.id) this.held = first && { id: first.id, since: ms };
    if (first && ms - this.held.since >= SHOWN_AT_LEAST_MS) this.read.add(first.id);
    return first;
  }

  isShown(call, t) {
    if (call.state === "acknowledged" || call.state === "shelved") return false;
    if (isAlarm(call)) return call.state === "unacknowledged";
    const age = t === null ? 0 : t - call.t;
    const kept = Math.max(SHOWN_S, (SHOWN_AT_LEAST_MS / 1000) * this.clock.speed);
    // One that waited behind a nearer call still gets its turn.
    return age < (this.read.has(call.id) ? kept : 2 * kept) && this.isStillMeant(call);
  }

  /** Whether the act a planned call announced is still to be done by one of its steaks. */
  isStillMeant(call) {
    const steaks = call.steaks.map((name) => this.board.steak(name)).filter(Boolean);
    if (!steaks.length) return true;
    if (call.call === "turn" || call.call === "flip") return steaks.some((one) => one.next?.mark === call.call);
    return !call.call.startsWith("pull_") || steaks.some((one) => one.phase === "on");
  }
}

/** Whether one answer serves both: the same kind for another steak, or planned calls of one burst. */
function belongs(call, first) {
  if (isAlarm(first)) return call.call === first.call && isAnswerable(call) && call.steaks.length > 0;
  return !isAlarm(call) && call.t === first.t;
}

/** Whether a later call says the same thing of the same steaks anew. */
const follows = (later, call) =>
  later.t > call.t && later.call === call.call && String(later.steaks) === String(call.steaks);
