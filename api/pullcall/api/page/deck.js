// Plays a tape into a board of its own, at any speed, from any moment. What the board says at a
// moment is the same however one got there.

import { Board } from "./state.js";
import { Truth } from "./truth.js";

export const SPEEDS = [1, 2, 4, 6, 10, 20, 30, 60];

export class Deck {
  constructor(tape, now = () => performance.now()) {
    this.tape = tape;
    this.board = new Board();
    this.board.curvePoints = Infinity; // all are here, so none need go
    this.board.truth = new Truth(tape);
    this.clock = new TapeClock(tape.startsT, tape.endsT, now);
    this.seek(tape.startsT);
  }

  /** Take every message that is due, in order. */
  step() {
    const { messages, times } = this.tape;
    const t = this.clock.t();
    for (; this.next < times.length && times[this.next] <= t; this.next += 1) this.take(messages[this.next]);
    if (t >= this.tape.endsT) this.clock.pause();
  }

  /** Be at `t`: the last snapshot before it, and every message since. */
  seek(t) {
    this.clock.set(t);
    const place = this.tape.snapshotBefore(this.tape.placeAt(this.clock.t()));
    const snapshot = this.tape.messages[place];
    this.show(snapshot, ({ steak }) => this.tape.curveBefore(steak, place));
    this.next = place + 1;
    this.step();
  }

  take(message) {
    // Played up to here, its curves are the board's.
    if (message.type === "snapshot") this.show(message, ({ steak }) => this.board.steak(steak).curve);
    else this.board.apply(message);
  }

  show(snapshot, curveOf) {
    const steaks = snapshot.steaks.map((one) => ({ ...one, curve: curveOf(one) }));
    this.board.apply({ ...snapshot, steaks, ends_t: this.tape.endsT });
  }

  /** Play on, or from the beginning where it is over. */
  play() {
    if (this.clock.t() >= this.tape.endsT) this.seek(this.tape.startsT);
    this.clock.play();
  }

  pause() {
    this.clock.pause();
    this.step();
  }

  /** The last mark or call before now, or null; one just passed does not count while it plays on. */
  get previous() {
    const passed = this.clock.isPlaying ? 1.5 * this.clock.speed : 0;
    return this.tape.stops.findLast(({ t }) => t < this.clock.t() - passed) ?? null;
  }

  /** The first mark or call after now, or null. */
  get following() {
    return this.tape.stops.find(({ t }) => t > this.clock.t()) ?? null;
  }
}

/** The recorded cook's clock: it stands, or runs at `speed` cook seconds a second up to the end. */
class TapeClock {
  constructor(from, to, now) {
    Object.assign(this, { from, to, now, speed: 1, at: from, since: null });
  }

  get isPlaying() {
    return this.since !== null;
  }

  t() {
    const played = this.isPlaying ? ((this.now() - this.since) / 1000) * this.speed : 0;
    return Math.min(this.to, this.at + played);
  }

  /** Be at `t`, and go on from there if it runs. */
  set(t) {
    this.at = Math.min(this.to, Math.max(this.from, t));
    if (this.isPlaying) this.since = this.now();
  }

  play() {
    this.set(this.t());
    this.since = this.now();
  }

  pause() {
    this.at = this.t();
    this.since = null;
  }

  /** Run at another speed from here on: the nearest of those there are. */
  run(speed) {
    this.set(this.t());
    this.speed = SPEEDS.reduce((best, one) => (Math.abs(one - speed) < Math.abs(best - speed) ? one : best));
  }
}
