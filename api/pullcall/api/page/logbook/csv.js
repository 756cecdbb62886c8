// The head of a table in CSV: the names of its columns.

const SEPARATORS = [",", ";", "\t"];
const MOST_LINES_ABOVE = 30; // what some programs write before the head

/** The names in the first of the widest lines; [] where no line has two. */
export function columnsOf(text) {
  const heads = text.split(/\r?\n|\r/, MOST_LINES_ABOVE).map((line) => widest(SEPARATORS.map((sign) => cells(line, sign))));
  const head = widest(heads);
  return head.length > 1 ? head.filter(Boolean) : [];
}

/** The longest of some lists, the first where several are. */
const widest = (lists) => lists.reduce((best, one) => (one.length > best.length ? one : best));

/** A line's cells; quotes hold a cell together, and a quote in it is written twice. */
function cells(line, separator) {
  const found = [""];
  let isQuoted = false;
  for (let i = 0; i < line.length; i += 1) {
    const isTwice = isQuoted && line[i] === '"' && line[i + 1] === '"';
    if (line[i] === '"' && !isTwice) isQuoted = !isQuoted;
    else if (line[i] === separator && !isQuoted) found.push("");
    else found.push(found.pop() + line[i]);
    if (isTwice) i += 1;
  }
  return found.map((one) => one.trim());
}
