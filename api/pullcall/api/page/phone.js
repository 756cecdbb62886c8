// This phone as the site knows it: a name of its own, whether it can sound, and what it sounded.

import { site } from "./api.js";

const KEPT = "pullcall.phone";
const BEAT_MS = 5000;

export class Phone {
  constructor(storage, sound) {
    this.sound = sound;
    this.name = storage.get(KEPT) ?? newName();
    storage.set(KEPT, this.name);
    this.told = null; // whether it is armed, as last told
    this.toldAt = -Infinity;
  }

  /** Call a few times a second: tells the site every five seconds, and at once when it changed. */
  step(ms, link) {
    const armed = this.sound.armed;
    if (link.lost || (armed === this.told && ms - this.toldAt < BEAT_MS)) return;
    this.tell(ms);
  }

  tell(ms) {
    this.told = this.sound.armed;
    this.toldAt = ms;
    site.phone(this.name, this.told).catch(() => { this.told = null; });
  }

  /** A call of the site sounded here. */
  receipt(call) {
    site.receipt(this.name, call.id).catch(() => {
      // The site calls again what nobody confirms; the next receipt is as good.
    });
  }
}

/** 128 random bits in hex: `randomUUID` is missing on a plain-http page. */
function newName() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}
