// At the machine: the settings card, and the record, one reading after the other.

import { $, el, fill, table, seriesTable, figure, remarks, graveFirst, download } from "./dom.js";
import { ask, siteForm, Faults } from "./api.js";
import { state, on, keep } from "./state.js";
import { busy, show } from "./app.js";
import { watch } from "./runs.js";
import { blockList, fetchFile } from "./verdict.js";

const KEEP = "pretreat.reading"; // survives a closed tab: a reading cannot be taken twice
const QUEUE = "pretreat.readings"; // those that wait for the connection, oldest first
const RETRY_MS = 20_000;
let gauges = [];
let found = null;
let at = 0;
let taken = fresh();
let queue = [];
let sending = false;

function fresh() {
  return { when: "", note: "", values: {} };
}

export function startMachine(form) {
  gauges = form.gauges;
  try {
    taken = { ...fresh(), ...JSON.parse(localStorage.getItem(KEEP) || "{}") };
    queue = JSON.parse(localStorage.getItem(QUEUE) || "[]");
  } catch { taken = fresh(); queue = []; }
  $("to-record").addEventListener("click", () => { $("record-found").scrollIntoView(); $("gauge-value").focus(); });
  on("step", (step) => { if (step === "machine") drawRecord(); });
  on("units", () => drawRecord());
  watch("machine", (answer) => { found = answer; drawCard(); aboutGauges(); });
  addEventListener("online", sendWaiting);
  setInterval(sendWaiting, RETRY_MS);
  sendWaiting();
}

function held() {
  try {
    localStorage.setItem(KEEP, JSON.stringify(taken));
    localStorage.setItem(QUEUE, JSON.stringify(queue));
  } catch { /* the form itself still holds it */ }
}

function drawCard() {
  const { seen } = found;
  const us = state.units === "us";
  const flows = ["feed", "product", "drain", "recycle"].map((name) => [name, `settings.${name}_${us ? "gpm" : "l_min"}`]);
  const order = seen.figures["settings.order"];
  const stopped = order && order.text === "DO NOT RUN";
  const pressures = ["", "_coldest", "_warmest"].map((end) => `settings.feed_pressure${end}_bar`).filter((key) => seen.figures[key] && seen.figures[key].unit);
  const timers = Object.entries(seen.series).filter(([key]) => key.endsWith(".settings"));
  const steps = (key) => seen.series[key] ? el("details", {}, el("summary", {}, seen.series[key].label),
    el("ol", {}, seen.series[key].rows.map((row) => el("li", {}, row[0], el("span", { class: "quiet" }, ` until: ${row[1]}`))))) : null;
  const careful = seen.series["settings.careful"];
  const valves = Object.keys(seen.series).filter((key) => /\.(settings|options)$/.test(key)).map((key) => key.split(".")[0]);
  const inForm = (name) => { // as the site and the record have it
    const gauge = gauges.find((one) => one.key === `${name}_flow`);
    const key = gauge && gauge.figures.find((one) => seen.figures[one]);
    return key ? el("span", { class: "quiet" }, ` ${figure(seen, key)}`) : null;
  };
  fill($("card-found"), el("h2", {}, "Settings card"),
    order ? el("p", {}, el("span", { class: "order" }, order.text)) : null,
    order ? el("p", {}, figure(seen, "settings.order_why")) : null,
    stopped && valves.length ? el("p", {}, "This is about the membranes. The settings of the vessels below hold for the flows and hours given.") : null,
    careful ? el("div", { class: "now" }, el("strong", {}, "Before work"), el("ul", {}, careful.rows.map((row) => el("li", {}, row[1])))) : null,
    stopped ? null : el("dl", { class: "card flows" }, flows.filter(([, key]) => seen.figures[key]).flatMap(([name, key]) =>
      [el("dt", {}, name[0].toUpperCase() + name.slice(1)), el("dd", { class: "setting", "data-key": key }, figure(seen, key), us ? null : inForm(name))]),
      [el("dt", {}, "Product : drain"), el("dd", { class: "setting" }, figure(seen, "settings.split"))],
      pressures.flatMap((key) => [el("dt", {}, seen.figures[key].label), el("dd", {}, figure(seen, key))])),
    el("div", { class: "cards flow" }, seen.main.filter((block) => block.keys.some((key) => valves.includes(key.split(".")[0]))).map((block) =>
      el("div", { class: "card" }, el("h3", {}, block.heading), blockList(seen, block)))),
    timers.map(([, series]) => seriesTable(series, series.columns, { stack: true })),
    steps("settings.start_up"), steps("settings.shutdown"), steps("settings.stop"),
    seen.series["settings.by_recovery"] ? el("details", {}, el("summary", {}, seen.series["settings.by_recovery"].label),
      seriesTable(seen.series["settings.by_recovery"], us ? ["recovery", "split", "feed_gpm", "product_gpm", "drain_gpm", "allowed"]
        : ["recovery", "split", "feed_l_min", "product_l_min", "drain_l_min", "allowed"], { hideCaption: true })) : null,
    el("div", { class: "row" },
      el("button", { type: "button", class: "main", onclick: () => fetchFile(found, "/api/card", "pdf") }, "Settings card as PDF"),
      el("button", { type: "button", onclick: () => print() }, "Print")));
}

// What the design expects of a gauge, in the unit of its field.
function expected(gauge) {
  const keys = state.units === "us" ? gauge.figures_us : gauge.figures;
  const key = found && keys.find((one) => found.seen.figures[one]);
  return key ? `expected ${figure(found.seen, key)}` : "";
}

// The gauges of what stands there; of a site that is not known yet, all.
function asked() {
  const sheet = found && found.study.series["settings.record_sheet"];
  if (!sheet) return gauges;
  const there = new Set(sheet.rows.map((row) => String(row[0]).replace(/^\* /, "")));
  const several = found.study.figures["machine.stages"];
  return gauges.filter((gauge) => taken.values[gauge.key]
    || (there.has(gauge.label) && (gauge.key !== "interstage_pressure" || (several && several.value > 1))));
}

// What is known of the site has come or changed: the field that is being typed in stays.
function aboutGauges() {
  const now = $("gauge-value");
  const here = now && now.dataset.gauge;
  const list = asked();
  const place = here ? list.findIndex((gauge) => gauge.key === here) : -1;
  if (!here || place < 0) { at = Math.min(at, list.length); drawGauge(false); return; }
  at = place;
  $("gauge-help").textContent = gaugeHelp(list[at]);
  counted();
}

const gaugeHelp = (gauge) => [gauge.section, expected(gauge), "leave empty what is not there"].filter(Boolean).join(" · ");

function counted() {
  const list = asked();
  const many = list.filter((gauge) => (taken.values[gauge.key] || "").trim()).length;
  $("counted").textContent = `${many} of ${list.length} gauges written`;
  const bar = document.querySelector("#gauge progress");
  if (bar) { bar.max = list.length; bar.value = at; }
}

function drawRecord() {
  fill($("record-found"), el("h2", { id: "record-title", tabIndex: -1 }, "Record"),
    el("p", {}, "Read all gauges within ten minutes, the machine having run steadily for half an hour. * is needed for the baseline."),
    el("div", { id: "gauge" }), el("p", { role: "status", id: "counted" }),
    el("div", { class: "row" },
      el("button", { type: "button", class: "main", id: "send-reading", onclick: sendReading }, "Write the reading into the record"),
      el("button", { type: "button", onclick: forget }, "Start the reading again")),
    el("div", { id: "waiting", role: "status" }), el("div", { id: "said", role: "status" }),
    el("div", { class: "row" },
      el("label", { class: "button", htmlFor: "open-record" }, "Open record file"),
      el("input", { type: "file", id: "open-record", class: "unseen", accept: ".csv", onchange: openRecord }),
      el("button", { type: "button", disabled: !state.record, onclick: () => download(recordName(state.siteName), state.record, "text/csv") }, "Save record file"),
      el("button", { type: "button", disabled: !state.record, onclick: trends }, "What the record says")),
    el("div", { id: "trends" }));
  drawGauge(false);
  drawWaiting();
}

function drawWaiting() {
  fill($("waiting"), queue.length ? el("div", { class: "now" },
    el("p", {}, queue.length > 1 ? `${queue.length} readings are kept on this device and will be sent when the connection is back.`
      : "The reading is kept on this device and will be sent when the connection is back."),
    el("button", { type: "button", onclick: sendWaiting }, "Send now")) : null);
}

// One gauge at a time, large; then date, remark and a look at the whole.
function drawGauge(focus) {
  const list = asked();
  const last = at >= list.length;
  const gauge = list[Math.min(at, list.length - 1)];
  const unit = state.units === "us" ? gauge.unit_us : gauge.unit;
  const id = "gauge-value";
  const input = last
    ? el("input", { id, type: "datetime-local", step: "1", value: taken.when || nowText(), oninput: (event) => { taken.when = event.target.value; held(); } })
    : el("input", { id, type: "text", autocomplete: "off", value: taken.values[gauge.key] || "", "data-gauge": gauge.key,
      "aria-describedby": "gauge-help", oninput: (event) => { taken.values[gauge.key] = event.target.value; held(); counted(); } });
  const move = (by) => { at = Math.max(0, Math.min(list.length, at + by)); drawGauge(true); };
  fill($("gauge"), el("form", { class: "gauge", onsubmit: (event) => { event.preventDefault(); if (last) sendReading(); else move(1); } },
    el("progress", { max: list.length, value: at, "aria-label": "Gauges done" }),
    el("label", { htmlFor: id }, last ? "Date and time of the reading" : `${gauge.needed ? "* " : ""}${gauge.label}`),
    el("div", { class: "with-unit" }, input, last || !unit ? null : el("span", { class: "unit" }, unit)),
    el("p", { class: "quiet", id: "gauge-help" }, last ? "" : gaugeHelp(gauge)),
    last ? el("div", {}, el("label", { htmlFor: "gauge-note" }, "Remark"), el("input", { id: "gauge-note", type: "text", maxLength: 400, value: taken.note,
      oninput: (event) => { taken.note = event.target.value; held(); } })) : null,
    el("div", { class: "row" },
      el("button", { type: "button", disabled: at === 0, onclick: () => move(-1) }, "Back"),
      last ? null : el("button", { type: "submit", class: "main" }, "Next"))));
  counted();
  if (focus) $(id).focus();
}

function nowText() {
  const now = new Date();
  const two = (number) => String(number).padStart(2, "0");
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}T${two(now.getHours())}:${two(now.getMinutes())}:${two(now.getSeconds())}`;
}

function forget() {
  taken = fresh();
  at = 0;
  held();
  drawRecord();
}

const PLAIN = /^[-+]?[\d.,]+$/;

async function sendReading() {
  const entry = gauges.filter((gauge) => (taken.values[gauge.key] || "").trim()).map((gauge) => {
    const typed = taken.values[gauge.key].trim();
    const unit = state.units === "us" ? gauge.unit_us : gauge.unit;
    return `${gauge.key}=${PLAIN.test(typed) && unit ? `${typed} ${unit}` : typed}`;
  });
  if (!entry.length && !taken.note) return;
  queue.push({ site: state.site, siteName: state.siteName, record: state.record, entry, when: taken.when || nowText(), note: taken.note, taken });
  taken = fresh();
  at = 0;
  held();
  drawRecord();
  await sendWaiting();
}

// Sends what waits, oldest first; without a connection it goes on waiting.
async function sendWaiting() {
  if (sending || !queue.length) return;
  sending = true;
  try {
    show(null);
    let answer = null;
    while (queue.length) {
      answer = await sent(queue[0]);
      queue.shift();
      held();
    }
    for (const button of document.querySelectorAll("#record-found button:disabled")) if (state.record && button.textContent !== "Back") button.disabled = false;
    drawWaiting();
    said(answer);
    $("said").scrollIntoView({ block: "nearest" });
  } catch (problem) {
    if (!(problem instanceof Faults && problem.status === 0)) {
      if (!Object.values(taken.values).some(Boolean)) taken = queue.shift().taken; // to be put right
      held();
      drawRecord();
      show(problem);
    } else {
      drawWaiting();
      $("waiting").scrollIntoView({ block: "nearest" });
    }
  } finally { sending = false; }
}

// A reading goes into the record of its own site; another than the open one is saved as a file.
async function sent(one) {
  const open = one.siteName === state.siteName;
  const [, files] = siteForm();
  const answer = await ask("/page/log", { site: one.site, record: open ? state.record : one.record,
    entry: one.entry, when: one.when, note: one.note }, open ? files : []);
  if (open) {
    state.record = answer.record;
    keep();
  } else download(recordName(one.siteName), answer.record, "text/csv");
  return answer;
}

function recordName(siteName) {
  return `${siteName.replace(/\.toml$/, "")}.record.csv`;
}

function said(answer) {
  const odd = answer.alarms.length || answer.doubts.length;
  fill($("said"),
    answer.alarms.length ? el("div", { class: "now" }, el("strong", {}, "Do this now"), el("ul", {}, answer.alarms.map((line) => el("li", {}, line)))) : null,
    answer.doubts.length ? el("div", { class: "now" }, el("strong", {}, "Written, but look again"), el("ul", {}, answer.doubts.map((line) => el("li", {}, line))),
      answer.baseline && answer.baseline === answer.when ? el("p", {}, "This reading is the baseline: all later ones are compared with it. If it is wrong, withdraw it.")
        : answer.baseline ? el("p", {}, `Compared with the baseline of ${answer.baseline}: if that one is wrong, withdraw it under “What the record says”.`) : null,
      el("p", {}, el("button", { type: "button", onclick: () => withdraw(answer.when, "") }, "Withdraw this reading"))) : null,
    odd ? null : el("p", { class: "fine" }, el("strong", {}, "✓ Fine. "),
      answer.complete ? "The reading is complete." : "The reading is written; a baseline needs all gauges marked *."),
    el("p", {}, "The record lives in this browser: save it as a file."));
}

async function openRecord(event) {
  state.record = await event.target.files[0].text();
  keep();
  drawRecord();
  trends();
}

// A reading that was wrong is struck: it stays in the file, and nothing rests on it.
async function withdraw(when, note) {
  try {
    show(null);
    const answer = await ask("/page/strike", { record: state.record, when, note });
    state.record = answer.record;
    keep();
    fill($("said"), el("p", { class: "fine" }, `The reading of ${answer.when} is withdrawn: it stays in the file, and nothing rests on it. Save the record file again.`));
    await trends();
    $("said").scrollIntoView({ block: "nearest" });
  } catch (problem) { show(problem); }
}

function withdrawing(readings) {
  if (!readings.length) return null;
  const which = el("select", { id: "strike-when" }, readings.map((one) => el("option", { value: one.when }, one.when + (one.baseline ? " (baseline)" : "") + (one.note ? `, ${one.note}` : ""))));
  const why = el("input", { id: "strike-why", type: "text", maxLength: 400 });
  return el("details", {}, el("summary", {}, "Withdraw a reading that is wrong"),
    el("div", { class: "field" }, el("label", { htmlFor: "strike-when" }, "Reading of"), which),
    el("div", { class: "field" }, el("label", { htmlFor: "strike-why" }, "Why"), why),
    el("div", { class: "row" }, el("button", { type: "button", onclick: () => withdraw(which.value, why.value) }, "Withdraw it")));
}

async function trends() {
  busy("Reading the record");
  try {
    const [fields, files] = siteForm({ record: state.record });
    const { seen, against, readings } = await ask("/page/view_record", fields, files);
    const shown = Object.entries(seen.series).filter(([key, series]) => key.startsWith("record.") && series.rows.length);
    const findings = seen.series["record.findings"];
    fill($("trends"), el("h2", {}, "What the record says"),
      findings && !findings.rows.length ? el("p", { class: "fine" }, el("strong", {}, "✓ "), "Nothing has moved beyond the noise of the gauges.") : null,
      remarks(graveFirst(seen.flags)),
      against.length ? table("Against the baseline", ["Value", "Baseline", "Last", "Unit"], against, { numeric: [false, true, true, false] }) : null,
      shown.map(([, series]) => el("details", { open: shown.length < 3 }, el("summary", {}, series.label), seriesTable(series, series.columns, { hideCaption: true, stack: true }))),
      withdrawing(readings));
  } catch (problem) { show(problem); } finally { busy(""); }
}
