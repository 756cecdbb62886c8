// Which calls sound on this phone, and when they sound again.

import { Clips } from "./clips.js";
import { byUrgency, isAlarm, isUrgent, joined, saysTheSame } from "./alarms.js";
import { TWINS_S, title } from "./acts.js";

const SAME_CALL_S = 5; // cook seconds: our own timer and the site's message are one call
const SAME_PULL_S = 60; // the same for a "pull now" that our own timer called from an older forecast
const STALE_MS = 10000; // an announcement older than this is shown, not sounded
const QUIET_MS = 2500; // ticks come each second: longer silence and our own timer speaks
const REPEAT_MS = 5000; // also how often words come again, and how long they may take then
const INSIST_AFTER_MS = 10000;
const LOOP_REST_MS = 1000;
const JUST_MS = 2000; // an alarm that sounded this lately need not sound for its announcement
const LINK_LOST_REPEAT_MS = 30000;
const HERE_KEPT_MS = 8000;
const ANSWER_KEPT_MS = 60000;
const KEPT = 60;
const TWIN_CALLS = ["turn", "flip"];

/**
 * Turns messages and time into bursts. `sounded(burst)` hears of each one, `told(call)` of each
 * announcement of the site that was heard here, and `passOn(call)` answers for what was answered
 * here while the link was dead.
 */
export class Caller {
  constructor(board, sound, { sounded, told, passOn }) {
    Object.assign(this, { board, sound, sounded, told, passOn });
    this.t = null; // where the cook's clock stood when it was last looked at
    this.coming = []; // {call, ms}: announced, not sounded yet; those of one t are one burst
    this.said = []; // {id, call, steaks, t, ms, here}: what this phone has sounded
    this.local = []; // calls made here while the link was dead
    this.called = new Set(); // entries of the schedule that were called here
    this.answers = []; // calls made and answered here
    this.alarms = new Map(); // id -> {first, last} in ms
    this.linkSaid = null;
    this.clips = new Clips(sound);
    this.spoke = -Infinity; // ms: when words were last begun
  }

  /** A message arrived while the cook's clock said `t` (this phone's: `ms`). */
  hear(message, t, ms) {
    this.t = t;
    if (message.type === "call") this.announce(message, ms);
    if (message.type === "call_state" && message.state !== "unacknowledged") this.sound.settle(message.id);
    if (message.type === "snapshot") {
      this.said = this.said.filter((one) => one.t <= message.t);
      for (const call of message.calls) this.announce(call, ms);
    }
  }

  announce(call, ms) {
    this.local = this.local.filter((one) => !saysTheSame(one, call));
    if (call.state === "acknowledged" || call.state === "shelved") return;
    if (call.state === "cleared" && isAlarm(call)) return;
    if (this.isPast(call)) return;
    if (this.answers.some((one) => ms - one.ms < ANSWER_KEPT_MS && saysTheSame(one, call))) this.passOn(call);
    else this.coming.push({ call, ms });
  }

  /** Too old to be sounded, also one that waited in the link while this phone slept. */
  isPast(call) {
    const age = this.t === null ? 0 : ((this.t - call.t) / this.board.speed) * 1000;
    return age > STALE_MS && !isUrgent(call);
  }

  /** Forget all of it: nothing is to sound here any more. */
  hush() {
    Object.assign(this, { coming: [], said: [], local: [], answers: [], called: new Set(), linkSaid: null });
    this.alarms.clear();
    this.clips = new Clips(this.sound);
    this.sound.hush();
  }

  /** Sound what was announced, the calls of one moment together. */
  flush(ms) {
    const due = this.coming.filter((one) => ms - one.ms < STALE_MS && !this.isPast(one.call));
    this.coming = [];
    for (const t of new Set(due.map((one) => one.call.t))) {
      const burst = due.filter((one) => one.call.t === t).map((one) => one.call);
      const fresh = burst.filter((call) => !this.isSaid(call, ms));
      if (fresh.length && !this.burst(fresh, ms) && this.sound.armed) {
        this.coming.push(...due.filter((one) => fresh.includes(one.call))); // behind another voice
      }
      const known = burst.filter((call) => !fresh.includes(call));
      if (this.sound.armed) known.forEach((call) => this.told(call));
    }
  }

  /** Whether this phone already called it, for each of its steaks, alone or as twins. */
  isSaid(call, ms) {
    const near = this.said.filter((one) => one.call === call.call && isNear(one, call, ms));
    return call.steaks.length
      ? call.steaks.every((name) => near.some((one) => one.steaks.includes(name)))
      : near.some((one) => !one.steaks.length);
  }

  /**
   * One tone for the most urgent of them, then their words if both take `most_s` seconds at most,
   * and a note of each. Returns whether it could sound.
   */
  burst(calls, ms, most_s = Infinity) {
    const ordered = [...calls].sort(byUrgency);
    const loudest = ordered.filter((call) => call.priority === ordered[0].priority);
    const lanes = loudest.flatMap((call) => call.steaks.map((name) => this.board.laneOf(name)));
    const known = [...new Set(lanes.filter((lane) => lane >= 0))].sort();
    const voice = this.sound.play(known, ordered[0].priority, ordered.map(({ id }) => id));
    const audible = voice !== null;
    if (!audible && this.sound.armed) return false;
    if (audible && most_s > 0) {
      this.spoke = ms;
      this.clips.say(voice, ordered, most_s);
    }
    for (const call of ordered) this.note(call, audible, ms);
    this.sounded({ calls: ordered, audible, text: joined(ordered) });
    return audible;
  }

  note(call, audible, ms) {
    const { id, steaks, t, here } = call;
    this.said = [...this.said, { id, call: call.call, steaks, t, ms, here }].slice(-KEPT);
    const timing = this.alarms.get(id);
    if (timing) timing.last = ms;
    if (audible && id && !here) this.told(call);
  }

  /** Call a few times a second: due calls of a dead link, repeats, the lost link itself. */
  step(t, ms, link) {
    this.t = t;
    this.sound.look(ms);
    this.clips.step(this.board.schedule, ms);
    if (t !== null && link.quietMs() > QUIET_MS) this.soundDue(t, ms);
    else this.local = this.local.filter((one) => ms - one.ms < HERE_KEPT_MS);
    this.flush(ms);
    this.repeat(ms);
    this.watchLink(ms, link);
  }

  soundDue(t, ms) {
    for (const entry of this.board.schedule) {
      const late = ((t - entry.due_t) / this.board.speed) * 1000;
      if (late < 0 || late > STALE_MS || this.called.has(keyOf(entry))) continue;
      const twins = this.twinsOf(entry);
      for (const one of twins) this.called.add(keyOf(one));
      const call = callHere(twins);
      if (this.isSaid(call, ms)) continue;
      this.local.push({ ...call, ms });
      this.coming.push({ call, ms });
    }
  }

  /** An entry with those of other steaks that ask the same within ten seconds. */
  twinsOf(entry) {
    if (!TWIN_CALLS.includes(entry.call)) return [entry];
    return this.board.schedule.filter((one) => one.call === entry.call && !this.called.has(keyOf(one))
      && Math.abs(one.due_t - entry.due_t) <= TWINS_S);
  }

  /**
   * Alarms nobody answered sound again, all of them as one burst; insistent ones without a pause.
   * Their words come every five seconds, if they fit between.
   */
  repeat(ms) {
    const live = [...this.board.calls, ...this.local].filter((call) => this.isLive(call));
    for (const id of this.alarms.keys()) {
      if (!live.some((call) => call.id === id)) this.alarms.delete(id);
    }
    for (const { id } of live) if (!this.alarms.has(id)) this.alarms.set(id, { first: ms, last: ms });
    const most_s = ms - this.spoke >= REPEAT_MS ? REPEAT_MS / 1000 : 0;
    if (live.some((call) => this.isRepeatDue(call, ms))) this.burst(live, ms, most_s);
  }

  /** Unanswered and urgent, or told insistently and nothing newer said of its steak. */
  isLive(call) {
    if (call.state !== "unacknowledged") return false;
    if (isAlarm(call)) return isUrgent(call) || call.insistent === true;
    return call.insistent === true && !this.board.calls.some((one) =>
      one.t > call.t && one.steaks.some((name) => call.steaks.includes(name)));
  }

  isRepeatDue(call, ms) {
    const { first, last } = this.alarms.get(call.id);
    const loops = call.insistent || (isUrgent(call) && ms - first >= INSIST_AFTER_MS);
    return loops ? !this.sound.busy && ms - last > LOOP_REST_MS : ms - last >= REPEAT_MS;
  }

  /** A page that knows no cook has no link to lose. */
  watchLink(ms, link) {
    if (!link.lost || !this.board.ready) {
      this.linkSaid = null;
    } else if (this.linkSaid === null || ms - this.linkSaid > LINK_LOST_REPEAT_MS) {
      const lost = { call: "link_lost", steaks: [], priority: 2, text: "Link lost", here: true };
      if (this.burst([lost], ms) || !this.sound.armed) this.linkSaid = ms;
    }
  }

  /** "Got it" for a call this phone made by itself: told to the site once it makes the call too. */
  settleHere(id, ms) {
    this.sound.settle(id);
    const settled = this.local.filter((one) => one.id === id);
    this.answers = [...this.answers, ...settled.map((one) => ({ ...one, ms }))].slice(-KEPT);
    this.local = this.local.filter((one) => one.id !== id);
  }
}

const keyOf = ({ call, steaks, due_t }) => `${call} ${steaks} ${due_t}`;

/** A call made here from entries of the schedule; twins become one. */
function callHere(entries) {
  const due = Math.min(...entries.map((one) => one.due_t));
  const [first] = entries;
  const steaks = entries.flatMap((one) => one.steaks);
  const text = entries.length > 1 ? `Both: ${first.call} now` : first.text;
  const clips = entries.map((one) => one.clip);
  return { ...first, steaks, text, clips, t: due, id: `here ${keyOf(first)}`, state: "unacknowledged", here: true };
}

/** Whether what was said was this call: the same one just now, or one made here for the same moment. */
function isNear(said, call, ms) {
  if (said.id === call.id) return ms - said.ms < JUST_MS;
  const span = call.call === "pull_now" && (said.here || call.here) ? SAME_PULL_S : SAME_CALL_S;
  return Math.abs(said.t - call.t) < span;
}
