// The cooks that were logged, the latest first, and how to see one again.

import { make } from "./dom.js";
import { site } from "./api.js";
import { span, wallTime } from "./words.js";

export function logbookPanel() {
  const list = make("div", { class: "list" });
  const how = make("p", { class: "meaning" }, "At the grill's machine, ", make("code", {}, "pullcall replay COOK"),
    " plays one into this page as it was, and ", make("code", {}, "pullcall export COOK"), " writes it to a file.");
  const fill = async () => {
    const cooks = await site.cooks().catch((refusal) => [make("p", { class: "refused" }, refusal.message)]);
    list.replaceChildren(...[...cooks].reverse().map((one) => (one instanceof Node ? one : row(one))));
  };
  fill();
  return { title: "Logbook", body: make("div", {}, how, list) };
}

function row({ cook, started, ended, steaks }) {
  const [from, to] = [started, ended].map((iso) => (iso ? new Date(iso) : null));
  const day = from?.toLocaleDateString("en-GB", { weekday: "short", day: "numeric", month: "short", year: "numeric" });
  const length = from && to ? span((to - from) / 1000) : "still open";
  return make("div", { class: "row" },
    make("p", {}, make("b", {}, from ? `${day}, ${wallTime(from)}` : "No date"), make("br"),
      `${steaks.join(" and ")} · ${length} · `, make("code", {}, cook)));
}
