// The verdict, the chart of saturation against recovery, and sliders that redraw it.

import { $, el, fill, seriesTable, figure, spread, remarks, graveFirst, table } from "./dom.js";
import { ask, siteForm } from "./api.js";
import { state, on, keep } from "./state.js";
import { busy, show, useSite } from "./app.js";
import { run, file } from "./runs.js";
import { download } from "./dom.js";
import { drawChart, moveChart } from "./chart.js";

const PAUSE_MS = 60;
const MINERALS = ["pct_calcite", "pct_gypsum", "pct_barite", "pct_celestite", "pct_fluorite", "pct_silica"];
let here = false;
let timer = 0;
let asking = false;
let again = false;
let pending = {};
let stages = ""; // the train is held while a slider moves

export function startVerdict() {
  on("step", (step) => { here = step === "verdict"; if (here) whole(); });
  on("units", () => { if (here) whole(); });
}

async function whole() {
  busy("Computing");
  try {
    const found = await run();
    if (here) draw(found);
  } catch (problem) {
    fill($("verdict-found"));
    show(problem);
  } finally { busy(""); }
}

const KINDS = { fits: "fits", "fits with conditions": "conditions", depends: "depends", "does not fit": "not" };
const SIGNS = { fits: "✓", conditions: "✓ !", depends: "?", not: "✕" };

export function answer(seen) {
  const said = seen.figures["verdict.answer"];
  if (!said) return el("p", { class: "answer" }, "There is no verdict without an analysis of the water.");
  const kind = KINDS[said.text] || "depends";
  const why = seen.series["verdict.why"];
  const rows = why ? why.rows.map((row) => row[why.columns.indexOf("reason")]) : [];
  return el("div", { class: `answer ${kind}` },
    el("strong", {}, el("span", { "aria-hidden": "true" }, `${SIGNS[kind]} `), said.text[0].toUpperCase() + said.text.slice(1)),
    el("ul", {}, rows.map((row) => el("li", {}, row))));
}

function draw(found) {
  const { seen, study } = found;
  const flags = graveFirst(seen.flags).filter((flag) => flag.level !== "info" && !flag.standing);
  const curve = study.series["scaling.sweep"];
  stages = study.figures["train.chosen"] ? study.figures["train.chosen"].value : "";
  fill($("verdict-found"), answer(seen),
    curve ? el("div", { class: "two" },
      el("div", {}, el("div", { id: "chart" }), el("ul", { class: "keys", id: "chart-keys" })),
      el("div", { id: "sliders" }, sliders(seen), el("p", { class: "quiet", role: "status", id: "slid" }))) : null,
    el("div", { id: "now" }), el("h2", {}, "Main results"), main(seen),
    lifts(seen),
    el("div", { class: "row" },
      el("button", { type: "button", class: "main", onclick: () => fetchFile(found, "/api/workbook", "xlsx") }, "Download the workbook"),
      el("button", { type: "button", onclick: () => print() }, "Print")),
    flags.length ? el("div", {}, el("h2", {}, "To mind"), remarks(flags)) : null,
    el("details", {}, el("summary", {}, `All remarks and rules of safe work (${seen.flags.length})`), remarks(graveFirst(seen.flags))));
  if (curve) redraw(found);
}

export async function fetchFile(found, path, ending) {
  try {
    show(null);
    busy("Writing the file");
    const stem = (state.siteName || "site").replace(/\.toml$/, "");
    download(`${stem}${path.endsWith("workbook") ? "" : `_${path.split("/").pop()}`}.${ending}`, await file(path, found.study));
  } catch (problem) { show(problem); } finally { busy(""); }
}

function main(seen) {
  return el("div", { class: "cards flow" }, seen.main.map((block) => el("div", { class: "card" }, el("h3", {}, block.heading), blockList(seen, block))));
}

export function blockList(seen, block) {
  return el("dl", {}, block.keys.flatMap((key, i) => [el("dt", {}, block.labels[i]),
    el("dd", { "data-key": key }, figure(seen, key)),
    spread(seen, key) ? el("dd", { class: "spread quiet" }, spread(seen, key)) : null]));
}

function lifts(seen) {
  const series = seen.series["recovery.levers"] || seen.series["untreated.recovery.levers"];
  if (!series) return null;
  return el("div", {}, el("h2", {}, "What would lift the limit"),
    seriesTable(series, ["lever", "maximum", "limited_by", "at_design", "cost"], { hideCaption: true, stack: true }));
}

// What limits at the settings shown, and the numbers that the sliders move.
function redraw(found) {
  const { seen, study } = found;
  const limits = seen.series["scaling.limits"];
  drawChart($("chart"), $("chart-keys"), found, MINERALS);
  const raw = study.series["scaling.limits"];
  const over = raw ? raw.rows.map((row) => row[raw.columns.indexOf("verdict")] !== "within") : [];
  const stages = seen.stages.length ? `Water behind the train: ${seen.stages.join(", then ")}.` : "Water as analysed.";
  const moved = ["recovery.max", "recovery.limited_by", "softener.interval_d", "softener.salt_kg_per_year", "machine.feed_flow_m3_h", "machine.concentrate_flow_m3_h"];
  fill($("now"), el("h2", {}, "At these settings"), el("p", {}, stages),
    el("dl", { class: "card" }, moved.filter((key) => seen.figures[key]).flatMap((key) =>
      [el("dt", {}, seen.figures[key].label), el("dd", { "data-now": key }, figure(seen, key))])),
    limits ? seriesTable(limits, ["name", "measure", "now", "limit", "verdict", "recovery"],
      { caption: "Scales against their limits", stack: true, rowClass: (n) => (over[n] ? "over" : "") }) : null,
    el("details", {}, el("summary", {}, "The chart as a table"),
      seriesTable(seen.series["scaling.sweep"], ["recovery", "lsi", ...MINERALS, "ph"], { hideCaption: true })));
}

const SLIDERS = [
  { name: "machine.recovery", key: "machine.recovery", label: "Recovery", si: [0.1, 0.95, 0.01], us: [0.1, 0.95, 0.01] },
  { name: "water.operating_temperature", key: "water.operating_temperature_c", label: "Water temperature", si: [1, 40, 0.5], us: [34, 104, 1],
    from: "water.coldest_temperature", to: "water.warmest_temperature" },
  { name: "machine.hours_per_day", key: "machine.hours_per_day", label: "Hours per day", si: [1, 24, 0.5], us: [1, 24, 0.5] },
  { name: "softener.salt_dose", key: "softener.salt_dose_g_l", label: "Salt dose", si: [80, 240, 4], us: [5, 15, 0.25] },
];

function sliders(seen) {
  return SLIDERS.filter((one) => seen.figures[one.key] && seen.figures[one.key].text).map((one) => {
    const [least, most, step] = one[state.units];
    const min = (one.from && state.values[one.from]) || least;
    const max = (one.to && state.values[one.to]) || most;
    const now = seen.figures[one.key];
    const id = `slide-${one.name.replace(".", "-")}`;
    const said = el("output", { htmlFor: id }, figure(seen, one.key));
    const input = el("input", { type: "range", id, min: String(min), max: String(max), step: String(step), "data-slider": one.name,
      oninput: (event) => { said.textContent = now.unit ? `${event.target.value} ${now.unit}` : event.target.value; slide(one.name, event.target.value); },
      onchange: (event) => settle(one.name, event.target.value) });
    input.value = now.text.replace(/,/g, "");
    return el("div", { class: "slider" }, el("label", { htmlFor: id }, one.label, said), input);
  });
}

// While a slider moves: the marker at once, the curve after a short pause.
function slide(name, value) {
  pending = { ...pending, [name]: value };
  if (name === "machine.recovery") moveChart(Number(value));
  clearTimeout(timer);
  timer = setTimeout(curve, PAUSE_MS);
}

// One curve is asked for at a time; what moved meanwhile is asked for next.
async function curve() {
  if (asking) { again = true; return; }
  asking = true;
  const begun = performance.now();
  const [fields, files] = siteForm({ changes: JSON.stringify(pending), mode: state.mode, stages });
  try {
    const found = await ask("/page/view_curve", fields, files);
    if (here) redraw(found);
    document.body.dataset.redrawn = String(performance.now() - begun);
    $("slid").textContent = "Redrawn without the draws; let go for the verdict.";
  } catch (problem) { show(problem); }
  asking = false;
  if (again) { again = false; curve(); }
}

// When a slider is let go: kept in the site file, and the whole answer with its draws.
async function settle(name, value) {
  const changes = { ...pending, [name]: value };
  pending = {};
  again = false;
  clearTimeout(timer);
  try {
    show(null);
    await useSite(state.site, changes);
    keep();
    const focused = document.activeElement && document.activeElement.id;
    await whole();
    if (focused && $(focused)) $(focused).focus();
  } catch (problem) { show(problem); }
}
