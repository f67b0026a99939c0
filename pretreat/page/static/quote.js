// The quote: what is bought, the prices that are missing, the totals, the files.

import { $, el, fill, seriesTable, figure } from "./dom.js";
import { watch } from "./runs.js";
import { fieldsOf } from "./site.js";
import { fetchFile } from "./verdict.js";

let fields = [];

export function startQuote(form) {
  fields = form.tables.filter((one) => one.table === "prices" || one.table === "quote");
  fill($("quote-found"), fields.map((one) => el("details", { "data-table": one.table }, el("summary", {}, one.title),
    el("div", { class: "fields" }, fieldsOf(one.fields)))), el("div", { id: "quote-shown" }));
  watch("quote", draw, { wipe: () => fill($("quote-shown")) });
}

const TOTALS = ["quote.net", "quote.discount", "quote.tax", "quote.gross", "quote.replacement_total", "quote.cost_per_year", "quote.cost_per_m3"];

// The prices that this quote asks for stand before the others.
function usedFirst(prices, figures) {
  const box = prices.querySelector(".fields");
  const named = (one) => one.querySelector("[data-field]").dataset.field;
  box.prepend(...[...box.children].filter((one) => named(one) === "prices.currency" || figures[named(one)]));
}

function draw(found) {
  const { seen } = found;
  const series = seen.series["quote.lines"];
  const totals = TOTALS.filter((key) => found.study.figures[key] && found.study.figures[key].value !== null);
  const unpriced = !totals.length && series;
  const prices = document.querySelector("#quote-found details[data-table=prices]");
  if (unpriced) prices.open = true;
  if (series && !prices.contains(document.activeElement)) usedFirst(prices, found.study.figures);
  fill($("quote-shown"),
    totals.length ? el("dl", { class: "card" }, totals.flatMap((key) => [el("dt", {}, seen.figures[key].label),
      el("dd", { class: "total", "data-key": key }, figure(seen, key))])) : null,
    unpriced ? el("p", {}, "Nothing has a price yet: give those that you know under Prices, above; the totals follow.") : null,
    series ? seriesTable(series, ["item", "when", "quantity", "unit", "packages", "package", "unit_price", "amount"], { stack: true })
      : el("p", {}, "There is nothing to quote yet."),
    seen.series["quote.years"] ? el("details", {}, el("summary", {}, seen.series["quote.years"].label),
      seriesTable(seen.series["quote.years"], seen.series["quote.years"].columns, { hideCaption: true })) : null,
    el("div", { class: "row" },
      el("button", { type: "button", class: "main", onclick: () => fetchFile(found, "/api/quote", "pdf") }, "Quote as PDF"),
      el("button", { type: "button", onclick: () => fetchFile(found, "/api/workbook", "xlsx") }, "Quote as workbook"),
      el("button", { type: "button", onclick: () => print() }, "Print")));
}
