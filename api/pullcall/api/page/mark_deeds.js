// The taps that mark, what is said of them, and what is said of marks that came from elsewhere.

import { Marking } from "./marking.js";
import { deed } from "./acts.js";
import { site } from "./api.js";

const FRESH_S = 10; // a mark that a snapshot brings is news for so long

const now = () => performance.now();

/** `say`, `done` and `undo` are the page's other deeds. */
export function markDeedsOf(page, { say, done, undo }) {
  const { live: { board, clock }, sheet } = page;
  const marking = new Marking();
  const paint = () => page.paint();

  /** Say what was marked, with its undo and a way to date it back. */
  function sayMarked(taken, dating = false) {
    const what = deed(taken.mark, taken.steak);
    const ago = Math.round(clock.t() - (taken.at ?? taken.t));
    say(ago < 2 ? `${what} marked` : `${what}, ${ago} s ago`, undoOf(taken), (by) => acts.redate(taken, by), dating);
  }

  /** Send a mark as of `at`. Returns it, or null: refused, or without an answer and kept for "Again". */
  async function send(mark, steak, at, ago) {
    const entry = marking.ask(mark, steak, at, now());
    try {
      const taken = await site.mark(mark, steak, ago);
      marking.taken(entry, taken.id).forEach(tellOther);
      return taken;
    } catch (refusal) {
      if (refusal.isAnswer) {
        marking.refused(entry).forEach(tellOther);
        say(refusal.message);
        return null;
      }
      const { found, others } = marking.lost(entry, now());
      others.forEach(tellOther);
      return found;
    }
  }

  /** Say a mark that this phone did not make, and let the keys that it changed rest. */
  function tellOther(told) {
    if (board.isReplay) return;
    marking.rest(told, board.steaks.map((one) => one.steak), now());
    const what = deed(told.mark, told.steak);
    const ago = Math.round(clock.t() - (told.at ?? told.t));
    const takeBack = board.writable ? undoOf(told) : null;
    const when = ago < 2 ? "" : `, ${ago} s ago`;
    page.bar.tell(`${what} marked${byWhom(told)}${when}`, now(), takeBack, told.id);
  }

  /** The site does not say who marked: in a demo, or to who only looks on, nobody is named. */
  function byWhom(told) {
    if (board.isByItself(told, clock.t())) return " by itself";
    return board.mode === "live" && board.acting ? " on another phone" : "";
  }

  const undoOf = ({ id, mark, steak }) => () => undo({ id, kind: "mark", what: deed(mark, steak) });

  const acts = {
    async mark(mark, steak, ago = 0) {
      sheet.close();
      const before = ago === 0 ? marking.before(mark, steak, now()) : null;
      if (before) return acts.again(before); // tapped before, and without an answer
      const taken = await send(mark, steak, clock.t() - ago, ago);
      if (taken !== null) sayMarked(taken);
      paint();
    },

    /** Send a mark that got no answer as of the moment of its first tap. */
    async again(entry) {
      marking.drop(entry);
      paint();
      const taken = await send(entry.mark, entry.steak, entry.at, Math.max(0, clock.t() - entry.at));
      if (taken !== null) sayMarked(taken);
      paint();
    },

    unanswered: () => marking.unanswered(now()),

    letGo(entry) {
      marking.drop(entry);
      paint();
    },

    /** A mark that the site tells of, before the board knows it. */
    hearMark(told, isNews = true) {
      const whose = marking.whose(told, now());
      if (whose === "found") sayMarked(told);
      if (whose === "other" && isNews) tellOther(told);
    },

    /** The marks of a snapshot that are news: polling hears of them in no other way. */
    hearMarks({ marks, t, cook }) {
      if (!board.ready || cook?.id !== board.cook?.id) return;
      const known = new Set(board.marks.map((one) => one.id));
      for (const one of marks.filter(({ id }) => id && !known.has(id))) acts.hearMark(one, t - one.t < FRESH_S * board.speed);
    },

    /** Whether a key must not take the step that it has only just come to say; null: the one for all. */
    isResting: (steak) => marking.isResting(steak, now()),

    /** Date a mark back by so many seconds more: taken back, and sent again as of then. */
    async redate(taken, by) {
      if (!(await done(site.undoMark(taken.id)))) return;
      const at = taken.at ?? taken.t;
      const sendAs = (moment) => send(taken.mark, taken.steak, moment, Math.max(0, clock.t() - moment));
      const again = await sendAs(at - by);
      if (again !== null) sayMarked(again, true);
      else if (!marking.before(taken.mark, taken.steak, now())) await sendAs(at); // the refusal is being said
      paint();
    },

    /** Offer to date a mark of the list back. */
    dateBack(entry) {
      sheet.close();
      sayMarked(entry, true);
      paint();
    },

    async propose({ id, steak, mark, happened }, isSo) {
      const entry = marking.ask(mark, steak, happened, now());
      const isTaken = await done(site.propose(id, isSo));
      (isTaken && isSo ? marking.expect(entry, now()) : marking.refused(entry)).forEach(tellOther);
      if (!isTaken) return;
      board.apply({ type: "proposals", proposals: board.proposals.filter((one) => one.id !== id) });
      say(isSo ? `${deed(mark, steak)} marked; undo in Marks` : `${deed(mark, steak)} not marked; to mark it, tap More`);
      paint();
    },
  };
  return acts;
}
