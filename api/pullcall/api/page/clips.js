// The words of calls, as the site's own voice says them: fetched ahead, said after their tone.
// Never the phone's own voices: they may be missing, or need the network.

import { address } from "./api.js";

const KEPT = 32; // decoded clips: a second of one is about 200 kB
const AHEAD = 20; // coming calls whose words are fetched ahead: fewer than are kept
const PATIENCE_MS = 5000;
const REST_MS = 10000; // after one that could not be had

export class Clips {
  constructor(sound) {
    this.sound = sound;
    this.kept = new Map(); // id -> promise of its sound; the one used longest ago is first
    this.fetching = false;
    this.restsUntil = -Infinity;
  }

  /** Call a few times a second: fetches the words of coming calls, one after the other. */
  async step(schedule, ms) {
    if (!this.sound.speaks || this.fetching || ms < this.restsUntil) return;
    const next = schedule.slice(0, AHEAD).find(({ clip }) => clip && !this.kept.has(clip));
    if (!next) return;
    this.fetching = true;
    if ((await this.fetch(next.clip)) === null) this.restsUntil = ms + REST_MS;
    this.fetching = false;
  }

  /** Say the words of a burst after its tone, those of its most urgent calls first. */
  async say(voice, calls, most_s) {
    const isLoudest = ({ priority }) => priority === calls[0].priority;
    await this.sayAll(voice, calls.filter(isLoudest), most_s);
    await this.sayAll(voice, calls.filter((call) => !isLoudest(call)), most_s);
  }

  /** All of the words or none: half of what is to be done could mislead. */
  async sayAll(voice, calls, most_s) {
    const ids = [...new Set(calls.flatMap((call) => call.clips ?? [call.clip]))];
    if (!this.sound.speaks || !ids.length || !ids.every(Boolean)) return;
    const words = await Promise.all(ids.map((id) => this.fetch(id)));
    if (words.every(Boolean)) this.sound.speak(voice, words, most_s);
  }

  /** The sound of a clip, or null where it cannot be had. */
  fetch(id) {
    const sound = this.kept.get(id) ?? this.load(id);
    this.kept.delete(id);
    this.kept.set(id, sound);
    if (this.kept.size > KEPT) this.kept.delete(this.kept.keys().next().value);
    return sound;
  }

  async load(id) {
    try {
      return await this.sound.decode(await bytesOf(id));
    } catch {
      this.kept.delete(id); // it is asked for again; the tone sounds all the same
      return null;
    }
  }
}

async function bytesOf(id) {
  const aborter = new AbortController();
  const timer = setTimeout(() => aborter.abort(), PATIENCE_MS);
  try {
    const answer = await fetch(address(`clips/${encodeURIComponent(id)}`), { signal: aborter.signal });
    if (!answer.ok) throw new Error(`no clip: ${answer.status}`);
    return await answer.arrayBuffer();
  } finally {
    clearTimeout(timer);
  }
}
