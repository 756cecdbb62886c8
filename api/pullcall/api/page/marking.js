// Marks as this phone knows them: its own, those that got no answer, and those made elsewhere.

const REST_MS = 3000; // a key whose meaning another phone has just changed
const KEPT_MS = 60_000; // how long a mark without an answer is offered again
const EXPECTED_MS = 10_000; // for the mark of an answered proposal to arrive
const SAME_S = 5; // a mark this near the tap that got no answer is that tap's
const STEPS = new Set(["on", "turn", "flip", "off", "boxed", "handed_in"]); // these change what a key says

export class Marking {
  constructor() {
    this.ids = new Set(); // of marks that this phone's own requests returned
    this.asked = []; // {mark, steak, at, state, since, heard}; a state is "asked", "expected" or "lost"
    this.rests = new Map(); // steak -> when its key takes taps again, in ms
  }

  /** A request goes out for a mark as of `at`, cook seconds; settle it with taken(), refused() or lost(). */
  ask(mark, steak, at, ms) {
    const entry = { mark, steak, at, state: "asked", since: ms, heard: [] };
    this.asked.push(entry);
    return entry;
  }

  /** The site took it. Returns what was heard meanwhile and is not this phone's. */
  taken(entry, id) {
    this.ids.add(id);
    this.drop(...this.asked.filter((one) => one === entry || (one.state === "lost" && isAlike(one, entry))));
    return entry.heard.filter((one) => one.id !== id);
  }

  /** The site said no. */
  refused(entry) {
    this.drop(entry);
    return entry.heard;
  }

  /** No answer came. Where the mark was heard all the same, it is `found` and nothing is lost. */
  lost(entry, ms) {
    const found = entry.heard.find((one) => isNear(one, entry)) ?? null;
    const others = entry.heard.filter((one) => one !== found);
    if (found) this.taken(entry, found.id);
    else Object.assign(entry, { state: "lost", since: ms, heard: [] });
    return { found, others };
  }

  /** The site answered a proposal: its mark comes without an id to know it by. */
  expect(entry, ms) {
    const [own, ...others] = entry.heard;
    if (own) this.taken(entry, own.id);
    else Object.assign(entry, { state: "expected", since: ms });
    return others;
  }

  drop(...entries) {
    this.asked = this.asked.filter((one) => !entries.includes(one));
  }

  /** Marks that got no answer, the first one first. */
  unanswered(ms) {
    this.asked = this.asked.filter((one) => one.state === "asked" || ms - one.since < (one.state === "lost" ? KEPT_MS : EXPECTED_MS));
    return this.asked.filter((one) => one.state === "lost");
  }

  /** The same mark that was tapped before and got no answer, or null. */
  before(mark, steak, ms) {
    return this.unanswered(ms).find((one) => isAlike(one, { mark, steak })) ?? null;
  }

  /**
   * Whose a mark is that the site tells of: "own", "found" (a tap without an answer came true),
   * "open" (a request of this phone may be its cause), or "other".
   */
  whose(told, ms) {
    if (this.ids.has(told.id)) return "own";
    this.unanswered(ms);
    const alike = this.asked.filter((one) => isAlike(one, told));
    const open = alike.find((one) => one.state === "asked");
    const expected = alike.find((one) => one.state === "expected");
    const lost = alike.find((one) => one.state === "lost" && isNear(told, one));
    if (open) open.heard.push(told);
    else if (expected ?? lost) this.taken(expected ?? lost, told.id);
    return open ? "open" : expected ? "own" : lost ? "found" : "other";
  }

  /** Another phone changed what a key says: a tap meant for the step before must not count. */
  rest({ mark, steak }, steaks, ms) {
    if (!STEPS.has(mark)) return;
    for (const name of steak === null ? steaks : [steak]) this.rests.set(name, ms + REST_MS);
  }

  /** Whether the key of a steak, or (null) the one for all, rests now. */
  isResting(steak, ms) {
    if (steak === null) return [...this.rests.values()].some((until) => ms < until);
    return ms < (this.rests.get(steak) ?? 0);
  }
}

const isAlike = (one, other) => one.mark === other.mark && one.steak === other.steak;
const isNear = (told, { at }) => at !== null && Math.abs((told.at ?? told.t) - at) <= SAME_S;
