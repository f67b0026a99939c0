// The lab report: what each line was read as, what is missing, what to correct.

import { $, el, fill, table, remarks, graveFirst, download } from "./dom.js";
import { ask } from "./api.js";
import { state, on, tell, keep } from "./state.js";
import { busy, show, useSite } from "./app.js";
import { fieldsOf } from "./site.js";

const KIT = ["hardness", "iron", "manganese", "ph", "alkalinity", "conductivity", "tds", "silica", "chlorine", "temperature"];
const PICKED = ["sample", "column", "unit", "sheet"];
let last = null;
let here = null; // the report that is drawn: what was typed beside its lines stays

export function startReport(form) {
  const water = form.tables.find((one) => one.table === "water").fields;
  const kit = water.filter((field) => KIT.includes(field.name.split(".")[1]));
  fill($("kit-fields"), el("p", {}, "What is typed here stands in the site file. Beside a report, it goes before what the report says."),
    el("div", { class: "fields" }, fieldsOf(kit)),
    el("div", { class: "row" }, el("button", { type: "button", class: "main", onclick: () => tell("go", "site") }, "Go on to the site")));
  $("open-report").addEventListener("change", (event) => take([...event.target.files]));
  const drop = $("drop");
  for (const kind of ["dragover", "dragleave", "drop"]) {
    drop.addEventListener(kind, (event) => {
      event.preventDefault();
      drop.classList.toggle("over", kind === "dragover");
      if (kind === "drop") take([...event.dataTransfer.files]);
    });
  }
  on("opened", () => { state.reports.length ? check() : fill($("report-found")); });
  on("units", () => { if (state.reports.length) check(); });
}

async function take(files) {
  if (!files.length) return;
  state.reports = [{ name: files[0].name, content: new Uint8Array(await files[0].arrayBuffer()) }];
  for (const name of PICKED) state.pick[name] = "";
  await named(Object.fromEntries(PICKED.map((name) => [`water.${name}`, ""])));
}

// Names the open report in the site file, with what was picked, and reads it.
async function named(changes) {
  try {
    show(null);
    await useSite(changes, { report: state.reports[0].name });
    await check();
  } catch (problem) { show(problem); }
}

function reading() {
  const given = (name) => state.values[`water.${name}`];
  return { sample: given("sample"), sheet: given("sheet"), column: given("column"),
    unit: (given("unit") || "").split(";").map((one) => one.trim()) };
}

async function check() {
  busy("Reading the report");
  try {
    last = await ask("/page/view_check", reading(), [["report", state.reports[0]]]);
    keep();
    draw();
    tell("checked", last);
  } catch (problem) {
    fill($("report-found"));
    show(problem);
  } finally { busy(""); }
}

function draw() {
  const { seen, lines, picks, study } = last;
  const typed = new Map([...document.querySelectorAll("#report-found input[data-analyte]")].map((one) => [one.dataset.analyte, one.value]));
  const flags = graveFirst(seen.flags);
  const grave = flags.filter((flag) => flag.level !== "info");
  const asked = seen.series["water.ask_lab"];
  fill($("report-found"),
    el("h2", {}, state.reports[0].name),
    pickers(picks),
    grave.length ? el("div", {}, el("h2", {}, "Look at these first"), remarks(grave)) : null,
    el("h2", {}, "What each line was read as"),
    el("p", {}, "Compare with the paper. A value that is wrong: write the right one at its end, then “Use the corrections”."),
    readings(lines, study.series["water.trail"]),
    el("div", { class: "row" },
      el("button", { type: "button", onclick: correct }, "Use the corrections"),
      el("button", { type: "button", class: "main", onclick: () => tell("go", "site") }, "Go on to the site")),
    asked && asked.rows.length ? el("div", {}, el("h2", {}, "Missing, and what it would change"),
      table("Ask the lab for", ["Not in the report", "What it would change", "Weight"], asked.rows, { stack: true })) : null,
    el("h2", {}, "Sums and checks"), sums(seen),
    el("details", {}, el("summary", {}, `All remarks (${flags.length})`), remarks(flags)));
  for (const one of document.querySelectorAll("#report-found input[data-analyte]")) one.value = (here === state.reports[0] && typed.get(one.dataset.analyte)) || "";
  here = state.reports[0];
}

function pickers(picks) {
  const made = [];
  if (picks.samples.length > 1) made.push(picker("sample", "Sample", picks.samples));
  if (picks.columns.length > 1) {
    made.push(picker("column", "Column of results", picks.columns.map((one) => one.split(" ")[0]), picks.columns));
  }
  return made.length ? el("div", { class: "fields" }, made) : null;
}

function picker(name, label, values, shown = values) {
  const now = state.values[`water.${name}`] || "";
  const id = `pick-${name}`;
  return el("div", { class: "field" }, el("label", { htmlFor: id }, label),
    el("select", { id, onchange: (event) => named({ [`water.${name}`]: event.target.value }) },
      el("option", { value: "" }, "as found"),
      values.map((value, i) => el("option", { value, selected: value === now }, shown[i]))));
}

const SURE = { sure: "✓ sure", assumed: "~ assumed", guessed: "? guessed" };

function readings(lines, trail) {
  const column = (row, name) => row[trail.columns.indexOf(name)];
  const used = new Map(trail.rows.map((row) => [column(row, "place"), row]));
  const rows = lines.map((line) => {
    const row = used.get(line.place);
    const key = row && column(row, "analyte");
    const sign = el("span", { class: `mark ${line.confidence}` }, SURE[line.confidence]);
    const rivals = line.rivals.length ? el("span", { class: "quiet" }, ` also on the line: ${line.rivals.join(", ")}`) : null;
    const field = key && column(row, "used") === "yes"
      ? el("input", { type: "text", inputMode: "decimal", "data-analyte": key, "aria-label": `Right value for ${line.understood}`, size: 8 }) : "";
    return [line.place, line.printed, el("span", {}, line.understood, rivals), sign, field];
  });
  return table("Lines of the report and their readings",
    ["Where", "As printed", "Read as", "How surely", "Right value"], rows, { hideCaption: true, stack: true });
}

function sums(seen) {
  const keys = ["water.ion_balance_pct", "water.tds_mg_l", "water.hardness_mg_l_caco3", "water.alkalinity_mg_l_caco3", "water.ec_us_cm"];
  const rows = keys.filter((key) => seen.figures[key]).map((key) => {
    const one = seen.figures[key];
    return [one.label, one.text, one.unit];
  });
  return table("Sums of the analysis", ["What", "Value", "Unit"], rows, { hideCaption: true, numeric: [false, true, false] });
}

async function correct() {
  const typed = [...document.querySelectorAll("#report-found input[data-analyte]")].filter((one) => one.value.trim());
  const changes = Object.fromEntries(typed.map((one) => [one.dataset.analyte, one.value.trim()]));
  if (!typed.length) return;
  try {
    show(null);
    const answer = await ask("/page/correct", { ...reading(), changes: JSON.stringify(changes) }, [["report", state.reports[0]]]);
    state.reports = [{ name: answer.name, content: new TextEncoder().encode(answer.csv) }];
    await named(Object.fromEntries(PICKED.map((name) => [`water.${name}`, ""])));
    download(answer.name, answer.csv, "text/csv");
  } catch (problem) { show(problem); }
}
