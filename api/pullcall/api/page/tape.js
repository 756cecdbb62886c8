// A cook that is over, as the site recorded it: every message a page would have received, in order.
// No page and no clock in here.

import { Refusal, address, reason, unpaired } from "./api.js";

const UNPAIRED = 401;

export class Tape {
  /** `head` is the recording's first line. */
  constructor({ cook, starts_t: startsT, ends_t: endsT, stops, truth, as_called: asCalled }) {
    Object.assign(this, { cook, startsT, endsT, stops, truth, asCalled });
    this.messages = [];
    this.times = []; // when each was shown
    this.snapshots = []; // the places of the snapshots among the messages
    this.curves = new Map(); // of each steak: {points, places}
  }

  add({ t_rx: t, ...message }) {
    this.times.push(t);
    const place = this.messages.push(message) - 1;
    if (message.type === "snapshot") this.snapshots.push(place);
    if (message.type !== "reading") return;
    if (!this.curves.has(message.steak)) this.curves.set(message.steak, { points: [], places: [] });
    const { points, places } = this.curves.get(message.steak);
    points.push([message.t, message.celsius]);
    places.push(place);
  }

  /** How many messages were shown by `t`. */
  placeAt(t) {
    return countTo(this.times.length, (i) => this.times[i] <= t);
  }

  /** The place of the last snapshot before a place; the first one where there is none. */
  snapshotBefore(place) {
    const count = countTo(this.snapshots.length, (i) => this.snapshots[i] < place);
    return this.snapshots[Math.max(0, count - 1)];
  }

  /** The readings of a steak that came before a place, as a curve of its own. */
  curveBefore(steak, place) {
    const { points, places } = this.curves.get(steak) ?? { points: [], places: [] };
    return points.slice(0, countTo(places.length, (i) => places[i] < place));
  }

  /** The readings of a steak after `t`, up to `until`. */
  curveBetween(steak, t, until) {
    const { points } = this.curves.get(steak) ?? { points: [] };
    const [from, to] = [t, until].map((moment) => countTo(points.length, (i) => points[i][0] <= moment));
    return points.slice(from, to);
  }

  /** When the first steak went on, or null. */
  get onT() {
    return this.stops.find(({ kind, label }) => kind === "mark" && label === "on")?.t ?? null;
  }
}

/** How many of `length` things in order, from the first on, are so. */
function countTo(length, isSo) {
  let [first, last] = [0, length];
  while (first < last) {
    const middle = (first + last) >> 1;
    if (isSo(middle)) first = middle + 1;
    else last = middle;
  }
  return first;
}

/** Fetch a cook's tape; `told(share)` hears how much of the cook is here. Throws a Refusal. */
export async function fetchTape(id, signal, told) {
  const answer = await fetch(address(`cooks/${encodeURIComponent(id)}/recording`), { signal, cache: "no-store" })
    .catch(() => { throw new Refusal("No answer: check the Wi-Fi, or whether Pullcall still runs."); });
  if (answer.status === UNPAIRED) unpaired();
  if (!answer.ok) throw new Refusal(await reason(answer), answer.status);
  const tape = await read(answer.body.pipeThrough(new TextDecoderStream()).getReader(), told)
    .catch(() => { throw new Refusal("The cook stopped coming: open its replay again."); });
  if (!isWhole(tape)) throw new Refusal("The cook did not come whole: open its replay again.");
  return tape;
}

/** A tape ends with the snapshot of the cook's end. */
const isWhole = (tape) => tape?.messages.at(-1)?.type === "snapshot" && tape.times.at(-1) === tape.endsT;

async function read(reader, told) {
  let tape = null;
  let rest = "";
  for (;;) {
    const { value, done } = await reader.read();
    if (done) return tape;
    const lines = (rest + value).split("\n");
    rest = lines.pop();
    for (const line of lines) {
      const message = JSON.parse(line);
      if (tape === null) tape = new Tape(message);
      else tape.add(message);
    }
    if (tape) told(shareOf(tape));
  }
}

/** How much of the cook's time is here already, 0 to 1. */
function shareOf({ times, startsT, endsT }) {
  return times.length && endsT > startsT ? (times.at(-1) - startsT) / (endsT - startsT) : 0;
}
