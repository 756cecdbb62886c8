// What a tap does: a request to the site and what is said of it, or a panel that opens.

import { Theme } from "./theme.js";
import { Visitor } from "./visitor.js";
import { alarmsPanel } from "./alarm_list.js";
import { choosePanel, lookPanel } from "./choose.js";
import { curvePanel } from "./curve_sheet.js";
import { pullIn, spotEffect, title } from "./acts.js";
import { firePanel } from "./fire.js";
import { markDeedsOf } from "./mark_deeds.js";
import { marksPanel, morePanel } from "./more.js";
import { menuPanel } from "./menu.js";
import { noticesPanel } from "./notices.js";
import { planPanel } from "./plan.js";
import { site } from "./api.js";
import { spotPanel } from "./spot.js";

const FORECAST_COMES_MS = 250; // the forecast that a spot changed follows at once
const FORGOTTEN = "This phone is forgotten. Pair it again whenever you like.";

const now = () => performance.now();
const pause = (ms) => new Promise((done) => setTimeout(done, ms));

/** The acts of a page: its parts are read when a tap comes. */
export function deedsOf(page) {
  const { live: { board, clock }, viewing, unit, sound, sheet, storage, caller, awake } = page;
  const shown = () => viewing.shown.board;
  const theme = new Theme(storage);

  const say = (...words) => page.bar.say(words[0], now(), ...words.slice(1));
  const paint = () => page.paint();

  /** Run a request; a refusal is said at the top. Returns null then. */
  async function asked(request) {
    try {
      return await request;
    } catch (refusal) {
      say(refusal.message);
      paint();
      return null;
    }
  }

  /** Whether a request that answers with nothing went through. */
  const done = async (request) => (await asked(request.then(() => true))) === true;

  /** Show the panel of a module that is yet to come, unless somebody went on meanwhile. */
  async function openLater(module, panelOf) {
    const { open } = sheet;
    const loaded = await module.catch(() => null);
    if (loaded === null) say("That panel did not come: try again once the site answers.");
    else if (sheet.open === open) sheet.show(panelOf(loaded));
    paint();
  }

  /** What the site will say in a moment, so that the key does not stay. */
  const settle = (id, state) => board.apply({ type: "call_state", id, state, by: "phone" });

  const acts = {
    ...markDeedsOf(page, { say, done, undo: (entry) => acts.undo(entry) }),

    toCook: () => viewing.toCook(),

    async undo({ id, kind, what }) {
      if (await done(kind === "spot" ? site.undoSpot(id) : site.undoMark(id))) say(`Taken back: ${what}`);
      paint();
    },

    /** Returns the sentence of a refusal, for the panel that stays open; null when taken. */
    async spot(steak, celsius) {
      try {
        const pull = () => (steak === null ? null : pullIn(board.steak(steak), board.time(clock.t())));
        const note = () => board.steak(steak)?.forecast?.note ?? "";
        const [before, noted] = [pull(), note()];
        const taken = await site.spot(steak, celsius);
        sheet.close();
        await pause(FORECAST_COMES_MS);
        const what = `${steak === null ? "Grate" : title(steak)}: spot ${unit.sayTyped(celsius)}${spotEffect(before, pull())}`;
        const news = note() === noted ? "" : `. ${title(note())}`; // such as that it was not believed
        say(what + news, () => acts.undo({ id: taken.id, kind: "spot", what }));
        return null;
      } catch (refusal) {
        return refusal.message;
      } finally {
        paint();
      }
    },

    /** "Got it" for calls that one answer settles. */
    async answer(calls) {
      await Promise.all(calls.map(async (call) => {
        if (call.here) caller.settleHere(call.id, now());
        else if ((await asked(site.acknowledge(call.id))) !== null) settle(call.id, "acknowledged");
      }));
      paint();
    },

    /** Put alarms aside for a while. */
    async shelve(calls, for_s) {
      await Promise.all(calls.map(async ({ id }) => {
        if ((await asked(site.shelve(id, for_s))) !== null) settle(id, "shelved");
      }));
      paint();
    },

    async arm() {
      const armed = await sound.arm();
      awake.ask();
      page.bar.arming = armed ? "heard" : "deaf";
      if (armed) {
        const steaks = board.steaks.slice(0, 2).map((one) => one.steak);
        caller.burst([{ call: "test", steaks, priority: 2, text: "Test", here: true }], now());
      }
      page.tellPhone();
      paint();
    },

    /** Change temperatures of a steak; `words` say the change, "pull at 129.0 °F". */
    async set(steak, change, words) {
      if ((await asked(site.steak(steak, change))) !== null) say(`${title(steak)}: ${words}`);
      paint();
    },

    /** Change a setting of the cook; `words` say it. */
    async setCook(name, value, words) {
      const cook = await asked(site.cook({ [name]: value }));
      if (cook === null) return;
      board.apply({ type: "cook", cook });
      say(words);
      paint();
    },

    /** Change several settings; returns a refusal's sentence, for the panel that stays open. */
    async changeCook(change) {
      try {
        board.apply({ type: "cook", cook: await site.cook(change) });
        sheet.close();
        return null;
      } catch (refusal) {
        return refusal.message;
      } finally {
        paint();
      }
    },

    takeOffset() {
      const offset_s = board.plan.offset.offset_s;
      return acts.setCook("offset_s", offset_s, `${title(board.steaks[1].steak)} goes on ${Math.round(offset_s)} s later`);
    },

    async setLook(steak, look) {
      sheet.close();
      await acts.set(steak, { look }, look ? "note kept" : "note taken away");
    },

    assign: (steak, channel) => asked(site.steak(steak, { channel })),

    async newCook() {
      sheet.close();
      if ((await asked(site.newCook())) !== null) say("A new cook has begun");
    },

    /** End this phone's own pairing. */
    async forgetPhone() {
      const me = board.visitor;
      board.visitor = new Visitor(); // its stream ends at once, and that is no revocation
      if (await done(site.unpair("me"))) page.shut(FORGOTTEN);
      else board.visitor = me;
      paint();
    },

    /** Make an invitation and hand it over; returns the sentence of a refusal. */
    async invite(wanted) {
      try {
        const [{ invitationPanel }, made] = await Promise.all([import("./invitation.js"), site.invite(wanted)]);
        sheet.show(invitationPanel(made, acts));
        return null;
      } catch (refusal) {
        return refusal.message;
      }
    },

    openSpot: (name) => sheet.show(spotPanel(name === null ? null : board.steak(name), board.fire, unit, (celsius) => acts.spot(name, celsius))),
    openPlan: () => sheet.show(planPanel(acts)),
    openFire: () => sheet.show(firePanel(shown(), unit, acts)),
    openChoose: () => sheet.show(choosePanel(acts)),
    openLook: (name) => sheet.show(lookPanel(shown().steak(name), acts)),
    openCurve: () => sheet.show(curvePanel(shown())),
    openMore: (name) => sheet.show(morePanel(shown().steak(name), acts)),
    openNotices: () => sheet.show(noticesPanel(acts)),
    openAlarms: () => sheet.show(alarmsPanel(acts)),
    openMarks: () => sheet.show(marksPanel(acts)),
    // Of no use without the site, and seldom opened: they come when they are asked for.
    openWindow: () => openLater(import("./window.js"), ({ windowPanel }) => windowPanel(shown(), acts)),
    openSteak: (name) => openLater(import("./steak_settings.js"), ({ steakPanel }) => steakPanel(shown().steak(name), unit, acts)),
    openProbes: () => openLater(import("./probes.js"), ({ probesPanel }) => probesPanel(acts)),
    openPhones: () => openLater(import("./phones.js"), ({ phonesPanel }) => phonesPanel(board, acts)),
    openInvite: () => openLater(import("./invite.js"), ({ invitePanel }) => invitePanel(acts)),
    openLogbook: () => window.location.assign(new URL("logbook", document.baseURI)), // a page of its own
    openMenu: () => sheet.show(menuPanel(page, acts)),

    switchUnit() {
      unit.choose(unit.name === "F" ? "C" : "F");
      acts.openMenu();
      paint();
    },

    theme: () => theme.name,

    switchTheme() {
      theme.turn();
      acts.openMenu();
    },

    wearTheme: () => theme.wear(),
  };
  return acts;
}
