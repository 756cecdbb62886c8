// The first line of a table in CSV: the names of its columns.

const SEPARATORS = [",", ";", "\t"];

/** The names, as the first line of `text` has them; [] where there is none. */
export function columnsOf(text) {
  const separator = separatorOf(text);
  const names = [];
  let name = "";
  let isQuoted = false;
  for (let i = 0; i < text.length; i += 1) {
    const sign = text[i];
    if (isQuoted && sign === '"' && text[i + 1] === '"') name += text[i += 1];
    else if (sign === '"') isQuoted = !isQuoted;
    else if (!isQuoted && sign === separator) names.push(name), (name = "");
    else if (!isQuoted && (sign === "\n" || sign === "\r")) break;
    else name += sign;
  }
  return [...names, name].map((one) => one.trim()).filter(Boolean);
}

/** The sign that stands most often in the first line. */
function separatorOf(text) {
  const [line] = text.split(/[\r\n]/, 1);
  const count = (sign) => line.split(sign).length;
  return SEPARATORS.reduce((best, one) => (count(one) > count(best) ? one : best));
}
