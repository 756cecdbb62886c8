// The link to the site: websocket, else EventSource, else polling; the same messages from each.

import { address, site, unpaired } from "./api.js";

const WAITS_S = [0, 0.5, 1, 2, 4, 5];
const SILENCE_MS = 5000;
const PING_MS = 4000; // answered before silence would be taken for a lost link
const FIRST_PINGS = 3;
const POLL_MS = 1000;
const TRY_BETTER_MS = { events: 60000, poll: 20000 };
const WAYS = ["websocket", "events", "poll"];
const TRIES_PER_WAY = 2;
const PROTOCOL = "pullcall.1";
const UNPAIRED = 4401; // the site's own close code
const WORDS = { websocket: "live", events: "one way", poll: "asking each second" };
const SIGNS = { events: "by events", poll: "each second" };
const ANSWERS = new Set(["hello", "pong"]); // of whoever relays, and no news of the site
const WHOLE = new Set(["snapshot", "board"]); // everything there is: of a site, of all sites

/**
 * Keeps one way open. `hear(message, receivedMs)` gets each message once, in order;
 * `trip(t, sentMs, receivedMs)` each measured round trip; `ticket()` asks for what opens a
 * websocket, null where none is needed; `whole()` for everything, where there is nothing better.
 */
export class Link {
  constructor({ hear, trip, ticket, whole = site.snapshot }) {
    this.whole = whole;
    this.hear = hear;
    this.trip = trip;
    this.ticket = ticket;
    this.wakeUp = () => {};
    this.drop = () => {};
    this.ended = Promise.resolve(); // of the run before
    this.halted = true;
    this.turn = 0; // counts runs and halts
    this.recalledAt = null; // when what is shown was heard by the page before a reload
    this.renew();
  }

  renew() {
    this.epoch = null;
    this.seq = 0;
    this.heardAt = performance.now();
    this.toldAt = this.heardAt;
    this.greeted = false; // by anything, in this run
    this.live = null; // the way that speaks now
    this.way = 0;
    this.failures = 0;
    this.waits = 0;
  }

  /** Which way is live, in words; null while none is. */
  get wayWords() {
    return this.live === null ? null : WORDS[this.live];
  }

  /** A short sign while it is not the best way; else null. */
  get waySign() {
    return SIGNS[this.live] ?? null;
  }

  /** Milliseconds since anything was heard. */
  quietMs() {
    return performance.now() - this.heardAt;
  }

  /** Milliseconds since the site itself spoke: a board goes on answering for one that is silent. */
  untoldMs() {
    return performance.now() - this.toldAt;
  }

  /** What is shown was heard then, by the page before a reload: it is no news. */
  recall(at) {
    this.recalledAt = at;
  }

  /** Milliseconds since what is shown was heard; null where this page heard it itself. */
  recalledMs() {
    return this.recalledAt === null ? null : performance.now() - this.recalledAt;
  }

  get untold() {
    return this.untoldMs() > SILENCE_MS;
  }

  get lost() {
    return this.quietMs() > SILENCE_MS;
  }

  /** Back from a locked screen or another tab: do not trust the old socket. */
  refresh() {
    this.waits = 0;
    this.way = 0;
    this.failures = 0;
    if (this.quietMs() > 1500) this.drop();
    this.wakeUp();
  }

  /** Keep the link until halted. */
  async run() {
    const turn = this.turn += 1;
    const before = this.ended;
    let end = () => {};
    this.ended = new Promise((done) => { end = done; });
    await before;
    if (turn === this.turn) {
      this.halted = false;
      this.renew();
    }
    while (turn === this.turn) await this.runOnce();
    end();
  }

  /** Let go, for a phone that is not paired; run() begins anew. */
  halt() {
    this.turn += 1;
    this.halted = true;
    this.drop();
    this.wakeUp();
  }

  async runOnce() {
    const greeted = await this[WAYS[this.way]]();
    this.live = null;
    this.chooseWay(greeted);
    if (this.halted) return;
    const wait = WAITS_S[Math.min(this.waits, WAITS_S.length - 1)];
    this.waits += 1;
    await this.pause(wait * 1000 * (0.75 + Math.random() / 2));
  }

  chooseWay(greeted) {
    if (greeted) {
      this.failures = this.way === 0 ? 0 : TRIES_PER_WAY - 1;
      this.way = 0;
      return;
    }
    this.failures += 1;
    if (this.failures < TRIES_PER_WAY) return;
    this.failures = this.way === 0 ? TRIES_PER_WAY - 1 : 0;
    this.way = (this.way + 1) % WAYS.length;
  }

  pause(ms) {
    return new Promise((done) => {
      const timer = setTimeout(done, ms);
      this.wakeUp = () => { clearTimeout(timer); done(); };
    });
  }

  take(message) {
    if (this.halted) return;
    const now = performance.now();
    this.heardAt = now;
    this.greeted = true;
    this.recalledAt = null;
    this.live = WAYS[this.way];
    if (message.type === "hello") this.greet(message);
    else if (WHOLE.has(message.type)) this.settle(message);
    else if (typeof message.seq === "number") {
      if (message.seq <= this.seq) return;
      this.seq = message.seq;
    }
    if (!ANSWERS.has(message.type)) this.toldAt = now - (message.heard_s ?? 0) * 1000;
    this.hear(message, now);
  }

  greet(hello) {
    this.waits = 0;
    if (!hello.resumed) this.seq = hello.seq;
    this.epoch = hello.epoch;
  }

  settle(whole) {
    this.waits = 0;
    this.epoch = whole.epoch ?? this.epoch;
    this.seq = whole.seq;
  }

  resumeFrom(url) {
    if (this.epoch !== null) {
      url.searchParams.set("epoch", this.epoch);
      url.searchParams.set("since", String(this.seq));
    }
    return url;
  }

  /** Resolves when the socket is gone: true if the site ever greeted us on it. */
  async websocket() {
    const ticket = await this.ticket().catch(() => undefined);
    if (ticket === undefined || this.halted) return false;
    const url = this.resumeFrom(address("stream"));
    url.protocol = url.protocol === "https:" ? "wss:" : "ws:";
    const protocols = ticket === null ? [PROTOCOL] : [PROTOCOL, `ticket.${ticket}`];
    return this.channel((end, got) => {
      const socket = new WebSocket(url, protocols);
      const sent = new Map();
      let n = 0;
      const ping = () => {
        if (socket.readyState !== WebSocket.OPEN) return;
        n += 1;
        sent.set(n, performance.now());
        socket.send(JSON.stringify({ type: "ping", n }));
      };
      const pinging = setInterval(ping, PING_MS);
      socket.onmessage = (event) => {
        const message = got(event.data);
        if (message?.type === "hello") for (let i = 0; i < FIRST_PINGS; i += 1) ping();
        if (message?.type === "pong" && sent.has(message.n)) {
          this.trip(message.t, sent.get(message.n), performance.now());
          sent.delete(message.n);
        }
      };
      socket.onclose = ({ code }) => {
        if (code === UNPAIRED) unpaired();
        end();
      };
      socket.onerror = end;
      return () => { clearInterval(pinging); socket.close(); };
    });
  }

  /** As websocket(), one way only. */
  events() {
    return this.channel((end, got) => {
      const source = new EventSource(this.resumeFrom(address("events")));
      source.onmessage = (event) => got(event.data);
      source.onerror = end;
      const better = setTimeout(end, TRY_BETTER_MS.events);
      return () => { clearTimeout(better); source.close(); };
    });
  }

  /** Opens a channel, watches for silence, closes it and says whether it ever spoke. */
  channel(open) {
    return new Promise((done) => {
      let live = true;
      let greeted = false;
      let close = () => {};
      const opened = performance.now();
      const end = () => {
        if (!live) return;
        live = false;
        clearInterval(watch);
        close();
        done(greeted);
      };
      const got = (data) => {
        const message = live ? parse(data) : null;
        if (message === null) return null;
        greeted = true;
        this.take(message);
        return message;
      };
      const watch = setInterval(() => {
        if (Math.min(this.quietMs(), performance.now() - opened) > SILENCE_MS) end();
      }, 500);
      this.drop = end;
      close = open(end, got);
      if (!live) close();
    });
  }

  /** The last resort: everything once a second. */
  async poll() {
    const until = performance.now() + TRY_BETTER_MS.poll;
    let spoke = false;
    while (performance.now() < until && !this.halted) {
      const sent = performance.now();
      const whole = await this.whole().catch(() => null);
      if (whole === null) return spoke;
      spoke = true;
      this.take(whole);
      this.trip(whole.t, sent, performance.now());
      await this.pause(POLL_MS);
    }
    return spoke;
  }
}

function parse(data) {
  try {
    const message = JSON.parse(data);
    return message && typeof message.type === "string" ? message : null;
  } catch {
    return null;
  }
}
