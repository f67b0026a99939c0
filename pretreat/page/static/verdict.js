// The verdict, the chart of saturation against recovery, and sliders that redraw it.

import { $, el, fill, seriesTable, figure, spread, remarks, graveFirst, table } from "./dom.js";
import { ask, siteForm } from "./api.js";
import { state } from "./state.js";
import { busy, show, useSite } from "./app.js";
import { watch, file } from "./runs.js";
import { download } from "./dom.js";
import { drawChart, moveChart } from "./chart.js";

const PAUSE_MS = 60;
const REST_MS = 500; // after the last move of a slider, until the whole is computed
const SAME = 0.005; // half a step of recovery
const MINERALS = ["pct_calcite", "pct_gypsum", "pct_barite", "pct_celestite", "pct_fluorite", "pct_silica"];
let step = null;
let timer = 0;
let rest = 0;
let asking = false;
let again = false;
let pending = {};
let stages = ""; // the train is held while a slider moves
let full = null; // the last whole answer
let moved = null; // the last answer to a slider: each scale at every recovery
let turns = 0; // counts moves, so that an answer to an earlier one is not drawn over a later

export function startVerdict() {
  step = watch("verdict", (found) => { if (!held()) draw(found); }, { held });
}

// While a slider moves, only its own answers are drawn.
const held = () => Object.keys(pending).length > 0;

const KINDS = { fits: "fits", "fits with conditions": "conditions", depends: "depends", "does not fit": "not" };
const SIGNS = { fits: "✓", conditions: "✓ !", depends: "?", not: "✕" };

export function answer(seen, why = true) {
  const said = seen.figures["verdict.answer"];
  if (!said) return el("p", { class: "answer" }, "There is no verdict without an analysis of the water.");
  const kind = KINDS[said.text] || "depends";
  const recovery = seen.figures["machine.recovery"];
  return el("div", { class: `answer ${kind}` },
    el("strong", {}, el("span", { "aria-hidden": "true" }, `${SIGNS[kind]} `), said.text[0].toUpperCase() + said.text.slice(1),
      recovery ? el("span", { class: "quiet", id: why ? undefined : "answer-at" }, ` at a recovery of ${recovery.text}`) : null),
    why ? reasons(seen) : null);
}

// Why: the table of reasons, or, of a water that cannot be judged, the one sentence.
function reasons(seen) {
  const why = seen.series["verdict.why"];
  const said = seen.figures["verdict.reasons"];
  const rows = why && why.rows.length ? why.rows.map((row) => row[why.columns.indexOf("reason")]) : said ? [said.text] : [];
  const next = seen.figures["verdict.measure_next"];
  if (next && !rows.some((row) => row.includes(next.text))) rows.push(`Measure next: ${next.text}`);
  return el("ul", {}, rows.map((row) => el("li", {}, row)));
}

// The sentences that the command says first: train, runner-up, what the recovery rests on.
function short(seen) {
  const said = Object.entries(seen.figures).filter(([key, one]) => key.startsWith("summary.") && key !== "summary.verdict" && one.text && one.text !== "not computed");
  return said.length ? el("div", {}, el("h2", {}, "In short"), said.map(([, one]) => el("p", {}, el("strong", {}, `${one.label}: `), one.text))) : null;
}

function draw(found) {
  const { seen, study } = found;
  const flags = graveFirst(seen.flags).filter((flag) => flag.level !== "info" && !flag.standing);
  const curve = study.series["scaling.sweep"];
  const before = stages;
  stages = study.figures["train.chosen"] ? study.figures["train.chosen"].value : "";
  full = found;
  moved = null;
  const other = before && stages && before !== stages && !state.values["train.stages"];
  fill($("verdict-found"), answer(seen, false),
    other ? el("p", { class: "stale", role: "status" }, `The train has changed: ${plain(stages)}; before: ${plain(before)}.`) : null,
    curve ? el("div", { class: "two" },
      el("div", {}, el("div", { id: "chart" }), el("ul", { class: "keys", id: "chart-keys" })),
      el("div", { id: "sliders" }, sliders(seen), el("p", { class: "quiet", role: "status", id: "slid" }))) : null,
    el("h2", {}, "Why"), reasons(seen), short(seen),
    el("div", { id: "now" }), el("h2", {}, "Main results"), main(seen),
    lifts(seen),
    el("div", { class: "row" },
      el("button", { type: "button", class: "main", onclick: () => fetchFile(found, "/api/workbook", "xlsx") }, "Download the workbook"),
      el("button", { type: "button", onclick: () => print() }, "Print")),
    flags.length ? el("div", {}, el("h2", {}, "Points to note"), remarks(flags)) : null,
    el("details", {}, el("summary", {}, `All remarks and rules of safe work (${seen.flags.length})`), remarks(graveFirst(seen.flags))));
  if (curve) { redraw(found); ahead(); }
}

const plain = (joined) => joined.replace(/_/g, " ");

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
  if (block.unpriced) return el("p", {}, "No prices are given: give them under ", el("a", { href: "#quote" }, "6 Quote"), ".");
  return el("dl", {}, block.keys.flatMap((key, i) => {
    const range = block.ranges[key];
    const more = range ? "" : spread(seen, key) || lacking(seen, key);
    return [el("dt", {}, block.labels[i]), el("dd", { "data-key": key }, range || figure(seen, key)),
      more ? el("dd", { class: "spread quiet" }, more) : null];
  }));
}

// Why a result is not there.
function lacking(seen, key) {
  if (seen.figures[key].text !== "not computed") return "";
  const flag = seen.flags.find((one) => one.figure === key);
  return flag ? flag.text : "";
}

function lifts(seen) {
  const series = seen.series["recovery.levers"] || seen.series["untreated.recovery.levers"];
  if (!series) return null;
  return el("div", {}, el("h2", {}, "What would lift the limit"),
    seriesTable(series, ["lever", "maximum", "limited_by", "at_design", "cost"], { hideCaption: true, stack: true }));
}

const MOVED = ["recovery.max", "recovery.limited_by", "softener.interval_d", "softener.salt_kg_per_year", "machine.feed_flow_m3_h", "machine.concentrate_flow_m3_h"];
const KEPT = "verdict.probability";

// What limits at the settings shown, and the numbers that the sliders move.
function redraw(found) {
  const { seen } = found;
  drawChart($("chart"), $("chart-keys"), found, MINERALS);
  const behind = full.seen.stages;
  const rows = MOVED.filter((key) => seen.figures[key]).flatMap((key) =>
    [el("dt", {}, seen.figures[key].label), el("dd", { "data-now": key }, figure(seen, key))]);
  const kept = full.seen.figures[KEPT];
  fill($("now"), el("h2", {}, "At these settings"),
    el("p", {}, behind.length ? `Water behind the train: ${behind.join(", then ")}.` : "Water as analysed."),
    el("dl", { class: "card" }, rows, kept ? [el("dt", {}, kept.label), el("dd", { "data-now": KEPT, id: "kept" }, keptText(found))] : null),
    el("div", { id: "limits" }),
    el("details", {}, el("summary", {}, "The chart as a table"),
      seriesTable(seen.series["scaling.sweep"], ["recovery", "lsi", ...MINERALS, "ph"], { hideCaption: true })));
  limits(seen.series["scaling.limits"], found.study.series["scaling.limits"]);
}

function limits(shown, raw) {
  if (!shown) return;
  const over = raw.rows.map((row) => row[raw.columns.indexOf("verdict")] !== "within");
  fill($("limits"), seriesTable(shown, ["name", "measure", "now", "limit", "verdict", "recovery"],
    { caption: "Scales against their limits", stack: true, rowClass: (n) => (over[n] ? "over" : "") }));
}

// The share of draws at a recovery: of the whole answer, or read from the limits that it drew.
function keptText(found) {
  if (found === full) return figure(full.seen, KEPT);
  const others = Object.keys(pending).filter((name) => name !== "machine.recovery");
  const at = found.study.figures["machine.recovery"].value;
  const row = others.length ? null : full.kept.find(([recovery]) => Math.abs(recovery - at) < SAME);
  return row ? row[1] : "after the draws";
}

// Another recovery on the curve that is drawn: picked from the rows that the program sent.
function readOff(recovery) {
  if (!moved) return;
  const raw = moved.study.series["scaling.along"];
  const shown = moved.seen.series["scaling.along"];
  const at = raw.rows.flatMap((row, n) => (Math.abs(row[0] - recovery) < SAME ? [n] : []));
  if (!at.length) return;
  const base = moved.seen.series["scaling.limits"];
  const picked = (series, rows, n, name) => rows[n][series.columns.indexOf(name)];
  const laid = (rows, along) => rows.map((row, i) => {
    const n = at.find((one) => picked(raw, raw.rows, one, "scale") === moved.study.series["scaling.limits"].rows[i][0]);
    return n === undefined ? row : row.map((cell, c) =>
      ["measure", "now", "limit", "verdict"].includes(base.columns[c]) ? picked(raw, along, n, base.columns[c]) : cell);
  });
  limits({ ...base, rows: laid(base.rows, shown.rows) },
    { columns: base.columns, rows: laid(moved.study.series["scaling.limits"].rows, raw.rows) });
  const here = { study: { figures: { "machine.recovery": { value: recovery } } } };
  if ($("kept")) $("kept").textContent = keptText(here);
}

// The rows of the curve, asked for before the slider moves.
async function ahead() {
  const mine = turns;
  try {
    const found = await sliding({});
    if (mine === turns) { moved = found; document.body.dataset.ahead = "yes"; }
  } catch { /* the slider then asks itself */ }
}

function sliding(changes) {
  const [fields, files] = siteForm({ changes: JSON.stringify(changes), mode: state.mode, stages });
  return ask("/page/view_curve", fields, files);
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

// While a slider moves: what is read off the curve at once, the rest after a short pause.
function slide(name, value) {
  const begun = performance.now();
  turns += 1;
  if ($("answer-at") && !held()) $("answer-at").textContent += ": the sliders have moved, the new verdict follows";
  pending = { ...pending, [name]: value };
  if (name === "machine.recovery") {
    moveChart(Number(value));
    readOff(Number(value));
    clocked("redrawn", begun);
  }
  clearTimeout(timer);
  clearTimeout(rest);
  timer = setTimeout(() => curve(begun), PAUSE_MS);
}

function clocked(name, begun) {
  document.body.dataset[name] = String(performance.now() - begun);
}

// One curve is asked for at a time; what moved meanwhile is asked for next. The nominal water is
// drawn first; its band comes with the whole answer.
async function curve(begun) {
  if (asking) { again = true; return; }
  asking = true;
  const mine = turns;
  try {
    const found = await sliding(pending);
    if (step.showing() && mine === turns) {
      moved = found;
      redraw(found);
      if (!document.body.dataset.redrawn) clocked("redrawn", begun);
      clocked("answered", begun);
      $("slid").textContent = "Redrawn without the draws: the verdict and the band follow.";
    }
  } catch (problem) { if (mine === turns) show(problem); }
  asking = false;
  if (again) { again = false; curve(performance.now()); }
}

// When a slider is let go, and rests: kept in the site file, and the whole answer with its draws.
function settle(name, value) {
  pending = { ...pending, [name]: value };
  clearTimeout(rest);
  rest = setTimeout(settled, REST_MS);
}

async function settled() {
  const mine = turns;
  try {
    show(null);
    await useSite(pending);
    if (mine !== turns) return; // moved again: what is pending is kept with it
    pending = {};
    clearTimeout(timer);
    const focused = document.activeElement && document.activeElement.id;
    await step.whole();
    if (mine === turns && focused && $(focused)) $(focused).focus();
  } catch (problem) { show(problem); }
}
