// The site file as a form: fields in the units of the page, each with its limits and help.

import { $, el, fill } from "./dom.js";
import { state, on, tell, keep } from "./state.js";
import { Faults } from "./api.js";
import { show, useSite } from "./app.js";

const FIRST = ["site.name", "machine.product_flow", "machine.recovery", "machine.drain_flow", "machine.hours_per_day",
  "machine.days_per_year", "water.operating_temperature", "water.coldest_temperature", "water.warmest_temperature"];
const NEEDED = new Set(["machine.product_flow", "machine.recovery", "machine.hours_per_day"]);
const WHY = { // what a field that is needed is needed for
  "machine.product_flow": "needed for every job, a quote too",
  "machine.recovery": "needed for every job, a quote too; not known: begin with 50 %, the verdict shows the largest that the water allows",
  "machine.hours_per_day": "needed for every job, a quote too",
};
const VESSELS = ["softener", "iron_filter", "carbon"];
const USUAL = ["site", "water", "machine", "product", "supply", "record", ...VESSELS, "train", "limits"];
let form = null;
let count = 0;

export function startSite(found) {
  form = found;
  const all = found.tables.flatMap((one) => one.fields);
  const first = FIRST.map((name) => all.find((field) => field.name === name)).filter(Boolean);
  const others = found.tables.map((one) => ({ ...one, fields: one.fields.filter((field) => !FIRST.includes(field.name)) }))
    .filter((one) => one.fields.length && one.table !== "prices" && one.table !== "quote");
  fill($("site-form"),
    el("fieldset", {}, el("legend", {}, "What every job needs"), el("div", { class: "fields" }, fieldsOf(first))),
    others.filter((one) => USUAL.includes(one.table)).map(tableOf),
    el("details", {}, el("summary", {}, "Other stages and feeds of chemicals"), others.filter((one) => !USUAL.includes(one.table)).map(tableOf)),
    el("div", { class: "row" }, el("button", { type: "submit", class: "main" }, "Show the verdict")));
  $("site-form").addEventListener("submit", (event) => { event.preventDefault(); tell("go", "verdict"); });
  for (const radio of document.querySelectorAll("input[name=mode]")) {
    radio.addEventListener("change", () => { state.mode = radio.value; keep(); tell("mode"); openVessels(); });
  }
  on("site", refresh);
  on("opened", () => { for (const radio of document.querySelectorAll("input[name=mode]")) radio.checked = radio.value === state.mode; openVessels(); });
}

function tableOf(one) {
  return el("details", { "data-table": one.table }, el("summary", {}, one.title), el("div", { class: "fields" }, fieldsOf(one.fields)));
}

function openVessels() {
  if (state.mode !== "rate") return;
  for (const table of VESSELS) document.querySelector(`details[data-table=${table}]`).open = true;
}

// Fields may stand on several steps; all of one name show the same value.
export function fieldsOf(fields) {
  return fields.map((field) => {
    const id = `field-${count++}`;
    const help = el("p", { class: "help", id: `${id}-help` });
    const common = { id, name: field.name, "data-field": field.name, "data-label": field.label,
      "aria-describedby": `${id}-wrong ${id}-help`, onchange: changed, onblur: (event) => write(event.target) };
    const input = field.choices
      ? el("select", common, el("option", { value: "" }, "not given"), field.choices.map((one) => el("option", { value: one }, one)))
      : el("input", { ...common, type: "text", autocomplete: "off", required: NEEDED.has(field.name) });
    const unit = el("span", { class: "unit", "data-unit": field.name });
    return el("div", { class: "field" }, el("label", { htmlFor: id }, field.label + (NEEDED.has(field.name) ? " (needed)" : "")),
      el("div", { class: "with-unit" }, input, field.unit ? unit : null),
      el("p", { class: "wrong", id: `${id}-wrong`, hidden: true }), help);
  });
}

// What the program last wrote into a field, or took from it. Anything else in it is being typed:
// no answer writes over that, nor into the field that has the focus.
const written = new WeakMap();

// What a step still needs, asked for on the spot.
export function askFor(place, problem) {
  const asking = place.querySelector(".still");
  if (asking && asking.contains(document.activeElement)) return; // one of them is being typed
  const all = form.tables.flatMap((one) => one.fields);
  const wanted = (problem.fields || []).map((name) => all.find((field) => field.name === name)).filter(Boolean);
  if (!wanted.length) { fill(place); return; }
  fill(place, el("fieldset", { class: "still" }, el("legend", {}, "Still needed here"),
    el("div", { class: "fields" }, fieldsOf(wanted)),
    wanted.some((field) => field.name === "machine.recovery") ? el("p", {}, "Not known how far the recovery may go? ",
      el("button", { type: "button", onclick: () => useSite({ "machine.recovery": FIRST_GUESS }).catch(show) }, "Begin with 50 %"),
      " The verdict then shows the largest that this water allows.") : null));
  refresh();
}

const FIRST_GUESS = "50 %";

function refresh(answer = {}) {
  const us = state.units === "us";
  const known = new Map(form.tables.flatMap((one) => one.fields).map((field) => [field.name, field]));
  const { taken = {}, refused = {}, anew = false } = answer;
  for (const input of document.querySelectorAll("[data-field]")) {
    const field = known.get(input.dataset.field);
    if (anew) written.set(input, input.value); // another site file: nothing typed before is of it
    if (field.name in refused && input.value === taken[field.name]) wrong(input, refused[field.name]);
    else if (field.name in taken && input.value === taken[field.name]) written.set(input, input.value);
    write(input);
    const example = us ? field.example_us || (field.unit ? "" : field.example) : field.example;
    const bounds = (us && field.bounds_us) || field.bounds || "";
    const words = [WHY[field.name], field.help, bounds, example && !field.choices ? `for example ${example}` : ""].filter(Boolean);
    $(`${input.id}-help`).textContent = words.join("; ");
  }
  for (const unit of document.querySelectorAll("[data-unit]")) {
    const field = known.get(unit.dataset.unit);
    unit.textContent = us ? field.unit_us : field.unit;
  }
  tellWrong();
}

function write(input) {
  const typed = input.value !== (written.get(input) ?? "");
  if (typed) return;
  wrong(input, "");
  if (document.activeElement === input) return;
  input.value = state.unsent[input.dataset.field] ?? (state.values[input.dataset.field] || "");
  written.set(input, input.value);
}

export function wrong(input, text) {
  const line = $(`${input.id}-wrong`);
  line.textContent = text;
  line.hidden = !text;
  if (text) input.setAttribute("aria-invalid", "true");
  else input.removeAttribute("aria-invalid");
}

// Fields whose text the program could not take: the answers stand on what was there before.
function tellWrong() {
  const names = [...new Set([...document.querySelectorAll("[data-field][aria-invalid]")].filter((one) => one.value.trim()).map((one) => one.dataset.label))];
  fill($("untaken"), names.length ? el("p", {}, `Not taken, so not in the results: ${names.join(", ")}. The field says why.`) : null);
}

async function changed(event) {
  const input = event.target;
  try {
    show(null);
    const { refused } = await useSite({ [input.dataset.field]: input.value });
    if (refused[input.dataset.field]) show(new Faults([refused[input.dataset.field]]));
  } catch (problem) {
    if (problem.status !== 0) { wrong(input, String(problem.message)); tellWrong(); }
    show(problem);
  }
}
