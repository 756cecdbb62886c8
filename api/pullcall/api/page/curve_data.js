// What a chart of one steak or of both shows, as plain figures: Celsius, and seconds of the cook.
// No page and no pixels in here.

import { MORNING, pullAt } from "./acts.js";

const BEFORE_ON_S = 30; // shown before the first steak went on
const WAITING_S = 600; // shown while none is on
const AHEAD_S = 60; // shown after now, at least
const STEP_S = 60; // the right edge moves by so much, not each second
const FAR = 1.25; // of the middle forecast: a late edge beyond it is cut off
const STEP_C = 5; // the upper and lower edge likewise
const MARGIN_C = 2;
const ABSURD_C = 30; // a spot so far off all that is known flattens no curve: it is marked at the edge
const EMPTY_C = 100;
/**
 * How long the core climbs after the pull. The site forecasts how far, but not how long before the
 * steak is off; the simulated steaks of 32 mm reach their peak two to three minutes after it.
 */
const CLIMB_S = 150;
const CLIMB_POINTS = 8; // the climb is drawn bent, in so many pieces

/** Marks as short words, each unlike the others. */
const SHORT = { boxed: "box", handed_in: "in" };

/**
 * `{from, to, low, high, lanes}`; each lane has its trace, spots, marks, pull and forecast, and in a
 * replay (`truth`) the readings still to come. A phone
 * that is not told the pull gets none of it: `pull_c` is null, the fan empty. A trace has at most
 * two points in each of `cells` equal parts of the time.
 */
export function chartOf(steaks, board, t, cells) {
  const from = beginOf(steaks, board.spots, t);
  const ways = steaks.map(waysOf);
  const to = endOf(from, t, ways, steaks.map((steak) => board.truth?.until(steak) ?? null));
  const lanes = steaks.map((steak, i) => laneOf(steak, ways[i], board, { from, to, cells, t }));
  return { from, to, ...heightOf(lanes), lanes };
}

function beginOf(steaks, spots, t) {
  const ons = steaks.filter((one) => one.on_t !== null).map((one) => one.on_t);
  const known = [
    ...steaks.filter((one) => one.curve.length).map((one) => one.curve[0][0]),
    ...spots.filter((one) => steaks.some(({ steak }) => steak === one.steak)).map((one) => one.t),
    ...ons,
  ];
  if (!known.length) return t - BEFORE_ON_S;
  return Math.max(Math.min(...known), (ons.length ? Math.min(...ons) - BEFORE_ON_S : t - WAITING_S));
}

function endOf(from, t, ways, truths) {
  const ends = [...truths, ...ways.filter(Boolean).map(({ start, end, middle }) =>
    Math.min(end, start + FAR * (middle.pull_s + middle.climb_s)))];
  return from + Math.ceil((Math.max(t + AHEAD_S, ...ends) - from) / STEP_S) * STEP_S;
}

function laneOf(steak, ways, board, { from, to, cells, t: now }) {
  const own = board.spots.filter((one) => one.steak === steak.steak && one.t >= from);
  return {
    name: steak.steak,
    index: board.laneOf(steak.steak),
    pull_c: pullAt(steak),
    trace: thinned(steak.curve, from, to, cells),
    truth: board.truth ? thinned(board.truth.rest(steak, now, to), from, to, cells) : [],
    start_c: steak.start_c ?? null,
    spots: own.map(({ t, celsius }) => ({ t, celsius })),
    marks: marksOf(steak, board.marks).filter(({ t }) => t >= from),
    now: ways && { t: ways.start, celsius: ways.core },
    fan: ways ? fanOf(ways, to) : [],
    peak: ways && peakOf(ways),
  };
}

/** The steak's own marks, and those of both, in the order they happened. */
export function marksOf(steak, marks) {
  return marks
    .filter(({ mark }) => !mark.startsWith("lid") && !Object.values(MORNING).includes(mark))
    .filter((one) => (one.steak ?? steak.steak) === steak.steak)
    .map(({ mark, t, at }) => ({ mark, t: at ?? t, word: SHORT[mark] ?? mark }))
    .sort((a, b) => a.t - b.t);
}

/**
 * The ways the forecast leaves open: at the latest, the likeliest and the earliest pull, each with
 * the peak it would climb to. Null where no pull and no peak is forecast.
 */
export function waysOf({ phase, forecast, ...steak }) {
  const core = forecast?.core_c ?? null;
  if (core === null) return null;
  const { t: start, pull_in_s: pull, peak_c: peak, peak_in_s: peakIn } = forecast;
  const way = (pull_s, climb_s, peak_c) => ({ pull_s: Math.max(0, pull_s), climb_s, peak_c });
  const pull_c = pullAt({ forecast, ...steak });
  if (phase === "on" && pull) {
    const climb = peak ? CLIMB_S : 0;
    return withEnd({ start, core, pull_c, early: way(pull.p10, climb, peak?.p90), middle: way(pull.p50, climb, peak?.p50),
      late: way(pull.p90, climb, peak?.p10), peak });
  }
  if (phase !== "on" && peak && peakIn > 0) {
    return withEnd({ start, core, pull_c: core, early: way(0, peakIn, peak.p90), middle: way(0, peakIn, peak.p50),
      late: way(0, peakIn, peak.p10), peak });
  }
  return null;
}

function withEnd(ways) {
  const { start, early, middle, late } = ways;
  const all = [early, middle, late];
  return {
    ...ways,
    edges: all.map(({ pull_s, climb_s }) => start + pull_s + climb_s),
    tops: all.map(({ peak_c }) => peak_c),
    end: start + late.pull_s + late.climb_s,
  };
}

/** The core `s` seconds ahead: straight to the pull, then bent to the peak, then level. */
function coreAhead({ core, pull_c }, { pull_s, climb_s, peak_c }, s) {
  if (s <= pull_s && pull_s > 0) return core + ((pull_c - core) * s) / pull_s;
  if (!climb_s) return pull_c;
  const left = 1 - Math.min(1, (s - pull_s) / climb_s);
  const foot = pull_s > 0 ? pull_c : core;
  return foot + (peak_c - foot) * (1 - left * left);
}

/** The fan as `{t, low, middle, high}`, from now until its end or the chart's. */
function fanOf(ways, to) {
  const { start, end, early, middle, late } = ways;
  const last = Math.min(to, end) - start;
  const times = [0, last];
  for (const { pull_s, climb_s } of [early, middle, late]) {
    for (let i = 0; i <= CLIMB_POINTS; i += 1) times.push(pull_s + (climb_s * i) / CLIMB_POINTS);
  }
  const kept = [...new Set(times)].filter((s) => s <= last).sort((a, b) => a - b);
  return kept.map((s) => {
    const cores = [late, middle, early].map((way) => coreAhead(ways, way, s));
    return { t: start + s, low: Math.min(...cores), middle: cores[1], high: Math.max(...cores) };
  });
}

function peakOf({ start, middle, peak }) {
  return peak ? { t: start + middle.pull_s + middle.climb_s, ...peak } : null;
}

function heightOf(lanes) {
  let [low, high] = [Infinity, -Infinity];
  const reach = (celsius) => {
    if (celsius < low) low = celsius;
    if (celsius > high) high = celsius;
  };
  for (const { trace, truth, fan, peak, pull_c } of lanes) {
    if (pull_c !== null) reach(pull_c);
    for (const point of truth) reach(point[1]);
    for (const point of trace) reach(point[1]);
    for (const one of fan) [one.low, one.high].forEach(reach);
    if (peak) [peak.p10, peak.p90].forEach(reach);
  }
  const starts = lanes.map((one) => one.start_c).filter((one) => one !== null);
  const [least, most] = [Math.min(low, ...starts) - ABSURD_C, high + ABSURD_C];
  const isKnown = lanes.some(({ fan }) => fan.length > 0);
  for (const { celsius } of lanes.flatMap(({ spots }) => spots)) {
    if (!isKnown || (celsius >= least && celsius <= most)) reach(celsius);
  }
  if (low > high) return { low: 0, high: EMPTY_C };
  return { low: Math.floor((low - MARGIN_C) / STEP_C) * STEP_C, high: Math.ceil((high + MARGIN_C) / STEP_C) * STEP_C };
}

/**
 * The points from `from` on, at most two for each of `cells` equal parts of the time to `to`, the
 * lowest and the highest: a slip of the probe stays to be seen. The last point is always kept.
 */
export function thinned(points, from, to, cells) {
  const first = points.findIndex(([t]) => t >= from);
  if (first < 0 || points.length - first <= 2 * cells) return first < 0 ? [] : points.slice(first);
  const kept = [];
  const each = (to - from) / cells;
  for (let i = first; i < points.length;) {
    const end = from + (Math.floor((points[i][0] - from) / each) + 1) * each;
    let [low, high] = [i, i];
    for (i += 1; i < points.length && points[i][0] < end; i += 1) {
      if (points[i][1] < points[low][1]) low = i;
      if (points[i][1] > points[high][1]) high = i;
    }
    kept.push(points[Math.min(low, high)]);
    if (low !== high) kept.push(points[Math.max(low, high)]);
  }
  if (kept.at(-1) !== points.at(-1)) kept.push(points.at(-1));
  return kept;
}
