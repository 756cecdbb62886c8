// Which view an address asks for: "#cook=ID", "#compare=A,B", "#learned", "#moving", else the list.

const VIEWS = ["cook", "compare", "learned", "moving"];

/** `{view, ids}` of a location's hash; what cannot be read is the list. */
export function routeOf(hash) {
  const [view, rest = ""] = hash.replace(/^#/, "").split("=");
  if (!VIEWS.includes(view)) return { view: "list", ids: [] };
  try {
    return { view, ids: rest.split(",").filter(Boolean).map(decodeURIComponent) };
  } catch {
    return { view: "list", ids: [] };
  }
}

export const LIST = "#";
export const cookHref = (id) => `#cook=${encodeURIComponent(id)}`;
export const compareHref = (ids) => `#compare=${ids.map(encodeURIComponent).join(",")}`;
