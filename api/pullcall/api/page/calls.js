// Which calls sound on this phone, when they repeat, and which one is shown.

const SAME_CALL_S = 5; // cook seconds: our own timer and the site's message are one call
const STALE_MS = 10000; // an announcement older than this is shown, not sounded
const QUIET_MS = 2500; // ticks come each second: longer silence and our own timer speaks
const REPEAT_MS = 5000;
const CONTINUOUS_AFTER_MS = 10000;
const LINK_LOST_REPEAT_MS = 30000;
const SHOWN_S = 8; // cook seconds, after which the words of a planned call are out of date
const SHOWN_AT_LEAST_MS = 1500;
const HERE_KEPT_MS = 8000;

/** Announced, then over by themselves. Every other kind is an alarm: it stays until answered. */
const PLANNED = new Set(["turn", "flip", "pull_soon", "pull_hold", "plan_step", "rest_done"]);

export const isAlarm = (call) => !PLANNED.has(call.call);

/** Turns messages and time into bursts. `sounded(call)` hears of each one. */
export class Caller {
  constructor(board, sound, sounded) {
    this.board = board;
    this.sound = sound;
    this.sounded = sounded;
    this.said = []; // {call, steaks, t, ms}: what this phone has sounded
    this.local = []; // calls made here while the link was dead
    this.alarms = new Map(); // id -> {first, last} in ms
    this.linkSaid = null;
    this.top = null; // {id, since}: the call at the top of the screen, in ms
    this.read = new Set(); // ids of calls that stood there long enough
  }

  /** A message arrived while the cook's clock said `t` (this phone's: `ms`). */
  hear(message, t, ms) {
    if (message.type === "call") this.announce(message, t, ms);
    if (message.type === "snapshot") {
      this.said = this.said.filter((one) => one.t <= message.t);
      for (const call of message.calls) this.announce(call, t, ms);
    }
  }

  announce(call, t, ms) {
    this.local = this.local.filter((one) => one.call !== call.call || !call.steaks.includes(one.steaks[0]));
    if (isUrgent(call)) return; // step() sounds and repeats these
    const age = t === null ? 0 : ((t - call.t) / this.board.speed) * 1000;
    if (age > STALE_MS || call.state === "acknowledged") return;
    if (call.state === "cleared" && isAlarm(call)) return;
    if (this.isSaid(call)) return;
    this.say(call, call.t, ms);
  }

  /** Whether this phone already called it, for each of its steaks, alone or as twins. */
  isSaid(call) {
    const near = this.said.filter((one) => one.call === call.call && Math.abs(one.t - call.t) < SAME_CALL_S);
    return call.steaks.length
      ? call.steaks.every((name) => near.some((one) => one.steaks.includes(name)))
      : near.some((one) => !one.steaks.length);
  }

  say(call, t, ms) {
    this.said.push({ call: call.call, steaks: call.steaks, t, ms });
    if (this.said.length > 60) this.said.shift();
    this.burst(call);
  }

  burst(call) {
    const lanes = call.steaks.map((name) => this.board.laneOf(name)).filter((lane) => lane >= 0);
    const audible = this.sound.play(lanes, call.priority);
    this.sounded({ ...call, audible });
  }

  /** Call a few times a second: due calls of a dead link, repeats, the lost link itself. */
  step(t, ms, link) {
    if (t !== null && link.quietMs() > QUIET_MS) this.soundDue(t, ms);
    else this.local = this.local.filter((one) => ms - one.ms < HERE_KEPT_MS);
    this.repeatAlarms(t, ms);
    this.watchLink(ms, link);
  }

  soundDue(t, ms) {
    for (const entry of this.board.schedule) {
      const late = ((t - entry.due_t) / this.board.speed) * 1000;
      if (late < 0 || late > STALE_MS) continue;
      const call = { ...entry, t: entry.due_t, id: `here-${entry.call}-${entry.steaks}-${entry.due_t}`, state: "unacknowledged", here: true };
      if (this.isSaid(call) || this.local.some((one) => one.id === call.id)) continue;
      this.local.push({ ...call, ms });
      if (!isUrgent(call)) this.say(call, entry.due_t, ms); // repeatAlarms() says the others
    }
  }

  repeatAlarms(t, ms) {
    const live = [...this.board.calls, ...this.local].filter(isUrgent);
    for (const id of this.alarms.keys()) {
      if (!live.some((call) => call.id === id)) this.alarms.delete(id);
    }
    for (const call of live) {
      const timing = this.alarms.get(call.id);
      if (!timing) {
        const known = this.isSaid(call);
        this.alarms.set(call.id, { first: ms, last: ms });
        if (!known) this.say(call, call.t, ms);
      } else if (this.isRepeatDue(timing, ms)) {
        timing.last = ms;
        this.burst(call);
      }
    }
  }

  isRepeatDue(timing, ms) {
    if (ms - timing.first >= CONTINUOUS_AFTER_MS) return !this.sound.busy && ms - timing.last > 1000;
    return ms - timing.last >= REPEAT_MS;
  }

  watchLink(ms, link) {
    if (!link.lost) {
      this.linkSaid = null;
    } else if (this.linkSaid === null || ms - this.linkSaid > LINK_LOST_REPEAT_MS) {
      this.linkSaid = ms;
      this.burst({ call: "link_lost", steaks: [], priority: 2, text: "Link lost" });
    }
  }

  /** The call for the top of the screen, most urgent first, and how many alarms wait behind. */
  shown(t, ms) {
    const calls = [...this.board.calls, ...this.local];
    const waiting = calls.filter((call) => this.isShown(call, t) && !calls.some((one) => follows(one, call)));
    waiting.sort((a, b) => isAlarm(b) - isAlarm(a) || a.priority - b.priority || dueOf(a) - dueOf(b) || b.t - a.t);
    const call = this.heldTop(waiting, ms);
    return { call, more: waiting.filter((one) => one !== call && isAlarm(one)).length };
  }

  /** The first call, unless the one before it has not yet had its time: an alarm never waits. */
  heldTop(waiting, ms) {
    const first = waiting[0] ?? null;
    const before = waiting.find((one) => one.id === this.top?.id);
    const young = before && ms - this.top.since < SHOWN_AT_LEAST_MS;
    if (young && !(isAlarm(first) && !isAlarm(before))) return before;
    if (first?.id !== this.top?.id) this.top = first && { id: first.id, since: ms };
    if (first && ms - this.top.since >= SHOWN_AT_LEAST_MS) this.read.add(first.id);
    return first;
  }

  isShown(call, t) {
    if (call.state === "acknowledged") return false;
    if (isAlarm(call)) return call.state === "unacknowledged";
    const age = t === null ? 0 : t - call.t;
    const kept = Math.max(SHOWN_S, (SHOWN_AT_LEAST_MS / 1000) * this.board.speed);
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

  /** "Got it" for a call this phone made by itself: nobody else knows of it. */
  settleHere(id) {
    this.local = this.local.filter((one) => one.id !== id);
  }

  /** Live alarms of one steak, answered or not: words for its lane. */
  alarmsOf(name) {
    return this.board.calls.filter((call) =>
      isAlarm(call) && call.state !== "cleared" && call.steaks.includes(name));
  }
}

/** Whether a later call says the same thing of the same steaks anew. */
const follows = (later, call) =>
  later.t > call.t && later.call === call.call && String(later.steaks) === String(call.steaks);

/** The moment a call speaks of, on the cook's clock. */
const dueOf = (call) => call.t + (call.in_s ?? 0);

function isUrgent(call) {
  return isAlarm(call) && call.priority === 1 && call.state === "unacknowledged";
}

/** Whether "Got it" is offered: alarms, and the pull call, whose repeats it mutes. */
export function isAnswerable(call) {
  return call.state === "unacknowledged" && (isAlarm(call) || call.call === "pull_soon");
}
