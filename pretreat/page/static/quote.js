// The quote: what is bought, the prices that are missing, the totals, the files.

import { $, el, fill, seriesTable, figure } from "./dom.js";
import { show, useSite } from "./app.js";
import { watch } from "./runs.js";
import { fieldsOf } from "./site.js";
import { fetchFile } from "./verdict.js";

const INSTALLED = /^prices\.installed_/;
let fields = [];

export function startQuote(form) {
  fields = form.tables.filter((one) => one.table === "prices" || one.table === "quote");
  fill($("quote-found"),
    el("div", { class: "row" }, el("label", { class: "button", htmlFor: "open-prices" }, "Open a price list"),
      el("input", { id: "open-prices", class: "unseen", type: "file", accept: ".toml", onchange: openPrices }),
      el("span", { class: "quiet" }, "a TOML file with [prices]; prices of this site go before it")),
    el("p", { id: "prices-missing", role: "status" }),
    fields.map((one) => el("details", { "data-table": one.table }, el("summary", {}, one.title),
      el("div", { class: "fields" }, fieldsOf(one.fields.filter((field) => !INSTALLED.test(field.name)))),
      one.table === "prices" ? el("details", {}, el("summary", {}, "Own prices of whole stages, to compare trains"),
        el("div", { class: "fields" }, fieldsOf(one.fields.filter((field) => INSTALLED.test(field.name))))) : null)), el("div", { id: "quote-shown" }));
  watch("quote", draw, { place: "quote-shown" });
}

const TOTALS = ["quote.net", "quote.discount", "quote.tax", "quote.gross", "quote.replacement_total", "quote.cost_per_year", "quote.cost_per_m3"];

async function openPrices(event) {
  try {
    show(null);
    const [one] = event.target.files;
    await useSite({}, { prices: { name: one.name, content: new Uint8Array(await one.arrayBuffer()) } });
  } catch (problem) { show(problem); }
  event.target.value = "";
}

// The prices that this quote asks for stand before the others, and those still missing are marked.
function usedFirst(prices, figures) {
  const box = prices.querySelector(".fields");
  const named = (one) => one.querySelector("[data-field]").dataset.field;
  const used = [...box.children].filter((one) => named(one) === "prices.currency" || figures[named(one)]);
  if (!prices.contains(document.activeElement)) box.prepend(...used);
  const missing = used.filter((one) => figures[named(one)] && figures[named(one)].value === null && named(one) !== "prices.discount_rate");
  for (const one of box.children) {
    const old = one.querySelector("label .mark");
    if (old) old.remove();
    one.classList.toggle("unused", !used.includes(one));
    if (missing.includes(one)) one.querySelector("label").append(" ", el("span", { class: "mark assumed" }, "no price yet"));
    else if (figures[named(one)]) one.querySelector("label").append(" ", el("span", { class: "mark sure" }, "✓ used"));
  }
  $("prices-missing").textContent = missing.length
    ? `This quote has no price yet for: ${missing.map((one) => one.querySelector("[data-field]").dataset.label).join(", ")}. Lines without a price stay out of the totals.` : "";
}

// Time that nobody charges for is no line of a quote.
function priced(series) {
  const at = (name) => series.columns.indexOf(name);
  return { ...series, rows: series.rows.filter((row) => !(/downtime/.test(row[at("item")]) && !row[at("unit_price")])) };
}

function draw(found) {
  const { seen } = found;
  const series = seen.series["quote.lines"];
  const totals = TOTALS.filter((key) => found.study.figures[key] && found.study.figures[key].value !== null);
  const unpriced = !totals.length && series;
  const prices = document.querySelector("#quote-found details[data-table=prices]");
  if (unpriced) prices.open = true;
  if (series) usedFirst(prices, found.study.figures);
  fill($("quote-shown"),
    totals.length ? el("dl", { class: "card" }, totals.flatMap((key) => [el("dt", {}, seen.figures[key].label),
      el("dd", { class: "total", "data-key": key }, figure(seen, key))])) : null,
    unpriced ? el("p", {}, "Nothing has a price yet: give those that you know under Prices, above; the totals follow.") : null,
    series ? seriesTable(priced(series), ["item", "when", "quantity", "unit", "packages", "package", "unit_price", "amount"], { stack: true })
      : el("p", {}, "There is nothing to quote yet."),
    seen.series["quote.years"] ? el("details", {}, el("summary", {}, seen.series["quote.years"].label),
      seriesTable(seen.series["quote.years"], seen.series["quote.years"].columns, { hideCaption: true })) : null,
    el("div", { class: "row" },
      el("button", { type: "button", class: "main", onclick: () => fetchFile(found, "/api/quote", "pdf") }, "Quote as PDF"),
      el("button", { type: "button", onclick: () => fetchFile(found, "/api/workbook", "xlsx") }, "Quote as workbook"),
      el("button", { type: "button", onclick: () => print() }, "Print")));
}
