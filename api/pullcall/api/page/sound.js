// Tones made here, then words: the pitch says which steak, the burst pattern how urgent.
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
const SOON_S = 0.02;
const REST_S = 0.3; // between one voice and the next
const BREATH_S = 0.15; // before words, so that the first is not lost in the tone
const LATE_S = 0.5; // words that come this long after their tone are not said any more
const BACKLOG_S = 2.5;
const STALL_MS = 2000;

/** The phone's voice. Silent until `arm()` ran inside a tap. */
export class Sound {
  constructor(storage) {
    this.storage = storage;
    this.context = null;
    this.voices = []; // what sounds, and what waits its turn
    this.seen = null; // {at, ms}: where the audio's own clock stood
    this.stalled = false;
    this.muted = false; // a phone that only watches
    this.volume = Number(storage.get("pullcall.volume") ?? 1);
    this.speech = storage.get("pullcall.speech") !== "off";
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
    this.playSilence();
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

  /**
   * On iPhones the ring switch mutes Web Audio unless an <audio> element plays, so one plays
   * silence, begun in the arming tap. So others report: it was not tried on a real phone.
   */
  playSilence() {
    this.silence ??= Object.assign(new Audio(new URL("silence.wav", import.meta.url)), { loop: true });
    this.silence.play().catch(() => {}); // Web Audio may sound all the same
  }

  /** The browser may stop audio behind a locked screen; try to have it back. */
  wake() {
    if (this.context === null) return;
    if (this.context.state !== "running") this.context.resume().catch(() => {});
    if (this.silence.paused) this.playSilence();
  }

  setVolume(volume) {
    this.volume = Math.min(1, Math.max(0.1, volume));
    this.storage.set("pullcall.volume", String(this.volume));
    if (this.out) this.out.gain.value = this.volume;
  }

  setSpeech(on) {
    this.speech = on;
    this.storage.set("pullcall.speech", on ? "on" : "off");
    if (!on) this.hush();
  }

  /** No more words; tones go on. */
  hush() {
    for (const voice of this.voices) voice.hush();
  }

  /** Whether words are wanted, and can be heard. */
  get speaks() {
    return this.speech && this.armed && !this.muted;
  }

  /** True while a burst or its words are under way. */
  get busy() {
    return this.armed && this.voices.some((voice) => this.context.currentTime < voice.end);
  }

  /**
   * Play the tone of one burst for lanes (0, 1; empty: the site). Returns its voice, for the words
   * that may follow; null where nothing could sound.
   */
  play(lanes, priority, calls) {
    if (this.muted) return null;
    buzz(BUZZES[priority]);
    if (!this.armed) return null;
    const pitches = lanes.length ? lanes.map((lane) => LANE_HZ[lane % LANE_HZ.length]) : [SITE_HZ];
    const at = this.turn(priority);
    if (at === null) return null;
    const group = this.context.createGain();
    group.connect(this.out);
    const pulses = BURSTS[priority];
    pulses.forEach(([start, length], i) =>
      this.pulse(group, pitches[i % pitches.length], at + start, length));
    const [start, length] = pulses[pulses.length - 1];
    const voice = new Voice(group, priority, at, at + start + length, calls);
    this.voices.push(voice);
    return voice;
  }

  /** When this burst may start: one voice at a time; the urgent one cuts in, and into any words. */
  turn(priority) {
    const now = this.context.currentTime;
    for (const voice of this.voices) {
      if (priority < voice.priority) voice.cut();
      else if (priority === 1) voice.hush();
    }
    this.voices = this.voices.filter((voice) => now < voice.end);
    const at = Math.max(now + SOON_S, ...this.voices.map((voice) => voice.end));
    return at - now > BACKLOG_S ? null : at;
  }

  /** A call was answered or is over: words about nothing else are ended. */
  settle(call) {
    for (const voice of this.voices) {
      if (voice.calls.delete(call) && !voice.calls.size) voice.hush();
    }
  }

  /** A sound file as something to say. */
  decode(bytes) {
    return this.context.decodeAudioData(bytes);
  }

  /**
   * Say words one after the other, after what the voice said so far. They are left out where they
   * come too late, where another voice follows, or where tone and words take over `most_s` seconds.
   */
  speak(voice, words, most_s = Infinity) {
    const now = this.context.currentTime;
    const starts = [];
    let end = Math.max(now, voice.said);
    for (const { duration } of words) {
      starts.push(end + BREATH_S);
      end += BREATH_S + duration;
    }
    const isLast = voice === this.voices[this.voices.length - 1];
    if (!isLast || voice.hushed || now > voice.said + LATE_S || end - voice.at > most_s) return;
    words.forEach((buffer, i) => {
      const word = Object.assign(this.context.createBufferSource(), { buffer });
      word.connect(voice.group);
      word.start(starts[i]);
      voice.words.push(word);
    });
    voice.said = end;
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

/** One burst: its tone, from `at` to `toneEnd`, and its words; all in seconds of the context. */
class Voice {
  constructor(group, priority, at, toneEnd, calls) {
    Object.assign(this, { group, priority, at, toneEnd, calls: new Set(calls) });
    this.words = [];
    this.said = toneEnd; // when its last sound ends
    this.hushed = false;
  }

  /** From when on another may sound. */
  get end() {
    return this.said + REST_S;
  }

  /** No more words; its tone goes on. */
  hush() {
    for (const word of this.words) word.stop();
    Object.assign(this, { words: [], said: this.toneEnd, hushed: true });
  }

  /** Nothing more. */
  cut() {
    this.hush();
    this.group.disconnect();
    this.said = -Infinity;
  }
}

function buzz(pattern) {
  if (navigator.userActivation && !navigator.userActivation.hasBeenActive) return;
  navigator.vibrate?.(pattern);
}
