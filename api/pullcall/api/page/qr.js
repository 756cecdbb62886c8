// A QR as a picture: dark on white at any hour, since cameras look for that.

import { draw } from "./dom.js";

const QUIET = 4; // modules kept free around it. Source: ISO/IEC 18004, quiet zone (from memory)

/** `rows` of "1" (dark) and "0". */
export function qrPicture(rows, label) {
  const side = rows.length + 2 * QUIET;
  const path = rows.flatMap((row, y) => [...row.matchAll(/1+/g)].map(({ 0: run, index: x }) =>
    `M${x + QUIET} ${y + QUIET}h${run.length}v1h-${run.length}z`)).join("");
  return draw("svg", { class: "qr", viewBox: `0 0 ${side} ${side}`, role: "img", "aria-label": label, "shape-rendering": "crispEdges" },
    draw("rect", { class: "light", width: side, height: side }),
    draw("path", { class: "dark", d: path }));
}
