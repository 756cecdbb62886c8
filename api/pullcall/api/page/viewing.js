// What the page shows: the cook that runs, or a replay, whose modules come when one is asked for.
// The cook goes on underneath: it is heard, it calls, and what is urgent leads back to it.

const ASKED = "#replay=";
const URGENT = 1;
const USUAL_SPEED = 6;

/** `{id, speed, t, isFromLogbook}` of the replay that an address asks for, or null. */
export function askedFor(hash) {
  if (!hash.startsWith(ASKED)) return null;
  const asked = new URLSearchParams(hash.slice(1));
  const number = (name) => (Number.isFinite(parseFloat(asked.get(name))) ? parseFloat(asked.get(name)) : null);
  return {
    id: asked.get("replay"),
    speed: number("speed") ?? USUAL_SPEED,
    t: number("t"),
    isFromLogbook: asked.get("from") === "logbook",
  };
}

export class Viewing {
  /** `live` is the cook's board, clock and top; `page` what a replay needs of the page. */
  constructor(live, page) {
    Object.assign(this, { live, page });
    this.replay = null;
    this.followed = null; // the address that is shown
    this.turn = 0; // counts replays opened and closed
  }

  /** The board, clock and top to be painted, with the replay that they are of. */
  get shown() {
    return this.replay?.shown ?? this.live;
  }

  /** Show what the address asks for. */
  async follow(hash) {
    const asked = askedFor(hash);
    if (asked === null && !this.live.board.isReplay) this.close();
    else if (asked !== null && this.followed !== hash) {
      this.followed = hash;
      await this.open(asked);
    }
  }

  /** The site has no cook, but one that is over: play that. */
  async showOnly({ cook, speed }) {
    if (this.followed !== null) return;
    this.followed = cook.id;
    await this.open({ id: cook.id, speed, t: null, isFromLogbook: false });
  }

  async open(asked) {
    const turn = (this.turn += 1);
    this.replay?.close();
    const { Replay } = await import("./replay.js");
    if (turn !== this.turn) return;
    this.replay = new Replay(asked, this.live, { ...this.page, toCook: () => this.toCook() });
    await this.replay.load();
  }

  /** Back to the cook that runs, wherever the replay was opened. */
  toCook() {
    history.replaceState(null, "", window.location.pathname + window.location.search);
    this.close();
    this.page.paint();
  }

  close() {
    this.turn += 1;
    this.replay?.close();
    Object.assign(this, { replay: null, followed: null });
  }

  /** Call a few times a second. */
  step(ms) {
    if (this.meanwhile(ms)[0]?.priority === URGENT) this.toCook();
    this.replay?.step();
  }

  /** What the cook that runs calls while a replay is looked at. */
  meanwhile(ms) {
    const { board, clock, top } = this.live;
    if (!this.replay?.shown || board.isReplay) return [];
    return top.calls(this.page.caller.local, board.time(clock.t()), ms);
  }
}
