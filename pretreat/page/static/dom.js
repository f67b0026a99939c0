// Small helpers: elements are made, never written as markup, so that any text stays text.

export const $ = (id) => document.getElementById(id);

export function el(tag, attributes = {}, ...children) {
  const node = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else if (name === "class") node.className = value;
    else if (name in node && name !== "list" && name !== "form") node[name] = value;
    else node.setAttribute(name, value === true ? "" : value);
  }
  node.append(...children.flat(Infinity).filter((child) => child !== null && child !== undefined));
  return node;
}

export function fill(node, ...children) {
  node.replaceChildren(...children.flat(Infinity).filter((child) => child !== null && child !== undefined));
}

export function table(caption, headings, rows, options = {}) {
  const numeric = options.numeric || [];
  const head = el("tr", {}, headings.map((text, i) =>
    el("th", { scope: "col", class: numeric[i] ? "number" : "" }, text)));
  const body = rows.map((row, n) => el("tr", { class: (options.rowClass && options.rowClass(n)) || "" },
    row.map((cell, i) => el(i === 0 && !options.plain ? "th" : "td",
      { scope: i === 0 && !options.plain ? "row" : undefined, class: numeric[i] ? "number" : "", "data-label": headings[i] }, cell))));
  return el("div", { class: "scroll", tabIndex: 0, role: "region", "aria-label": caption },
    el("table", { class: options.stack ? "stack" : "" }, el("caption", { class: options.hideCaption ? "unseen" : "" }, caption),
      el("thead", {}, head), el("tbody", {}, body)));
}

const NO_UNITS = new Set(["as named", "currency"]); // said in another column, or not chosen yet

// A table of the study with the columns named, as texts in the units of the page.
export function seriesTable(series, columns, options = {}) {
  const at = columns.map((name) => series.columns.indexOf(name)).filter((i) => i >= 0);
  const headings = at.map((i) => series.headings[i] + (series.units[i] && !NO_UNITS.has(series.units[i]) ? `, ${series.units[i]}` : ""));
  const rows = series.rows.map((row) => at.map((i) => row[i]));
  return table(options.caption || series.label, headings, rows,
    { ...options, numeric: at.map((i) => series.numeric[i]) });
}

const PLURAL = { year: "years", month: "months" };

export function figure(seen, key) {
  const found = seen.figures[key];
  if (!found) return "";
  return found.unit ? `${found.text} ${found.text !== "1" && PLURAL[found.unit] ? PLURAL[found.unit] : found.unit}` : found.text;
}

export function spread(seen, key) {
  const found = seen.figures[key];
  return found && found.p10 && found.p90 && found.p10 !== found.p90
    ? `${found.p10} to ${found.p90} in 8 of 10 draws` : "";
}

export function download(name, content, type) {
  const blob = content instanceof Blob ? content : new Blob([content], { type });
  const link = el("a", { href: URL.createObjectURL(blob), download: name });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(link.href), 10000);
}

const SIGNS = { warning: "!", caution: "▲", info: "i" };
const WORDS = { warning: "Warning", caution: "Caution", info: "Note" };

export function remarks(flags) {
  return el("ul", { class: "remarks" }, flags.map((flag) => el("li", { class: flag.level },
    el("span", { class: "sign", "aria-hidden": "true" }, SIGNS[flag.level]),
    el("span", {}, el("strong", {}, `${WORDS[flag.level]}: `), flag.text))));
}

export function graveFirst(flags) {
  const order = { warning: 0, caution: 1, info: 2 };
  return [...flags].sort((a, b) => order[a.level] - order[b.level]);
}
