// The cook's clock on this phone, and durations in words. Never the phone's own time of day.

const KEPT_SAMPLES = 8;
const JUMP_MS = 2000; // a tick this far from the estimate means the cook's clock was moved

/** Estimates the cook's clock from round trips; it runs at `speed` cook seconds a second. */
export class CookClock {
  constructor(now = () => performance.now()) {
    this.now = now;
    this.restart(1);
  }

  restart(speed) {
    this.speed = speed || 1;
    this.trips = [];
    this.ticks = [];
  }

  /** A round trip: the cook's clock said `t` between `sent` and `received` (ms here). */
  trip(t, sent, received) {
    const zero = (sent + received) / 2 - (t * 1000) / this.speed;
    keep(this.trips, { zero, cost: received - sent });
  }

  /** A message that only arrived: its delay is unknown, so the earliest of eight counts. */
  tick(t, received) {
    const zero = received - (t * 1000) / this.speed;
    const known = this.zero();
    if (known !== null && Math.abs(zero - known) > JUMP_MS) this.restart(this.speed);
    keep(this.ticks, { zero, cost: zero });
  }

  /** The quickest of the last round trips, ms; null where none was measured. */
  tripMs() {
    return this.trips.length ? Math.min(...this.trips.map((one) => one.cost)) : null;
  }

  /** Go on from a clock that was kept, until the site is heard: its zero in ms here. */
  resume(zero, speed) {
    this.restart(speed);
    keep(this.ticks, { zero, cost: Infinity });
  }

  zero() {
    const samples = this.trips.length ? this.trips : this.ticks;
    if (!samples.length) return null;
    return samples.reduce((best, one) => (one.cost < best.cost ? one : best)).zero;
  }

  /** Seconds on the cook's clock, or null before the first message. */
  t() {
    const zero = this.zero();
    return zero === null ? null : ((this.now() - zero) / 1000) * this.speed;
  }
}

function keep(samples, sample) {
  samples.push(sample);
  if (samples.length > KEPT_SAMPLES) samples.shift();
}

/** "1:05", "61:00"; negative values get a minus. */
export function minutes(seconds) {
  const whole = Math.floor(Math.abs(seconds));
  const sign = seconds < 0 && whole > 0 ? "−" : "";
  return `${sign}${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
}

/** A countdown: "51 s", and from a minute on "1:24". */
export function countdown(seconds) {
  const whole = Math.max(0, Math.ceil(seconds - 0.001));
  return whole < 60 ? `${whole} s` : minutes(whole);
}

/** "31–52 s", "0:38–1:04" or "5:10–6:40". */
export function band(low, high) {
  const from = Math.max(0, Math.round(low));
  const to = Math.max(0, Math.round(high));
  return to < 60 ? `${from}–${to} s` : `${minutes(from)}–${minutes(to)}`;
}
