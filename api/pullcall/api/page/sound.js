// Tones made here: the pitch says which steak, the burst pattern how urgent.
// Patterns and the 150-1000 Hz range are inspired by medical alarm practice, not conforming to it.

const LANE_HZ = [262, 587]; // first steak low, second high
const SITE_HZ = 415; // what concerns no steak
const HARMONICS = [0, 1, 0.75, 0.55, 0.42, 0.3, 0.2]; // relative strength of 0, 1st, 2nd, ...

/** Pulses as [start, length] in seconds. */
const BURSTS = {
  1: [[0, 0.14], [0.2, 0.14], [0.4, 0.14], [0.78, 0.14], [0.98, 0.14]],
  2: [[0, 0.2], [0.34, 0.2], [0.68, 0.2]],
  3: [[0, 0.28], [0.6, 0.28]],
};
const BUZZES = { 1: [140, 60, 140, 60, 140, 240, 140, 60, 140], 2: [200, 140, 200], 3: [280] };
const EDGE_S = 0.012; // ramps that keep pulses free of clicks
const BACKLOG_S = 2.5;
const STALL_MS = 2000;

/** The phone's voice. Silent until `arm()` ran inside a tap. */
export class Sound {
  constructor(storage) {
    this.storage = storage;
    this.context = null;
    this.freeAt = 0;
    this.playing = null;
    this.seen = null; // {at, ms}: where the audio's own clock stood
    this.stalled = false;
    this.volume = Number(storage.get("pullcall.volume") ?? 1);
  }

  get armed() {
    return this.context !== null && this.context.state === "running" && !this.stalled;
  }

  /** Whether the audio really runs: its clock has to move. Call a few times a second. */
  look(ms) {
    if (this.context === null) return;
    const at = this.context.currentTime;
    if (this.seen === null || at !== this.seen.at) {
      this.seen = { at, ms };
      this.stalled = false;
    } else if (ms - this.seen.ms > STALL_MS) {
      this.stalled = true;
    }
  }

  /** Call inside a tap: browsers keep audio shut until then. */
  async arm() {
    const Context = window.AudioContext ?? window.webkitAudioContext;
    if (!Context) return false;
    if (this.context === null) {
      this.context = new Context();
      this.wave = this.context.createPeriodicWave(
        new Float32Array(HARMONICS.length), new Float32Array(HARMONICS));
      this.out = this.context.createGain();
      const limit = this.context.createDynamicsCompressor();
      this.out.connect(limit).connect(this.context.destination);
      this.setVolume(this.volume);
    }
    await this.context.resume();
    return this.armed;
  }

  /** The browser may stop audio behind a locked screen; try to have it back. */
  wake() {
    if (this.context !== null && this.context.state !== "running") this.context.resume().catch(() => {});
  }

  setVolume(volume) {
    this.volume = Math.min(1, Math.max(0.1, volume));
    this.storage.set("pullcall.volume", String(this.volume));
    if (this.out) this.out.gain.value = this.volume;
  }

  /** True while a burst is under way. */
  get busy() {
    return this.armed && this.context.currentTime < this.freeAt;
  }

  /** Play one burst for lanes (0, 1; empty: the site). Returns whether anything could sound. */
  play(lanes, priority) {
    buzz(BUZZES[priority]);
    if (!this.armed) return false;
    const pitches = lanes.length ? lanes.map((lane) => LANE_HZ[lane % LANE_HZ.length]) : [SITE_HZ];
    const at = this.turn(priority);
    if (at === null) return false;
    const group = this.context.createGain();
    group.connect(this.out);
    this.playing = { group, priority };
    let end = at;
    BURSTS[priority].forEach(([start, length], i) => {
      this.pulse(group, pitches[i % pitches.length], at + start, length);
      end = at + start + length;
    });
    this.freeAt = end + 0.3;
    return true;
  }

  /** When this burst may start: one voice at a time, the urgent one cuts in. */
  turn(priority) {
    const now = this.context.currentTime;
    if (now >= this.freeAt) return now + 0.02;
    if (this.playing && priority < this.playing.priority) {
      this.playing.group.disconnect();
      return now + 0.02;
    }
    return this.freeAt - now > BACKLOG_S ? null : this.freeAt;
  }

  pulse(group, hertz, at, length) {
    const tone = this.context.createOscillator();
    const gate = this.context.createGain();
    tone.setPeriodicWave(this.wave);
    tone.frequency.value = hertz;
    gate.gain.setValueAtTime(0, at);
    gate.gain.linearRampToValueAtTime(0.9, at + EDGE_S);
    gate.gain.setValueAtTime(0.9, at + length - EDGE_S);
    gate.gain.linearRampToValueAtTime(0, at + length);
    tone.connect(gate).connect(group);
    tone.start(at);
    tone.stop(at + length + 0.05);
  }
}

function buzz(pattern) {
  if (navigator.userActivation && !navigator.userActivation.hasBeenActive) return;
  navigator.vibrate?.(pattern);
}
