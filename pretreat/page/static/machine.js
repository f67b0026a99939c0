// At the machine: the settings card, and the record, one reading after the other.

import { $, el, fill, seriesTable, figure, remarks, graveFirst, download } from "./dom.js";
import { ask, siteForm, Faults } from "./api.js";
import { state, on, keep } from "./state.js";
import { busy, show } from "./app.js";
import { run } from "./runs.js";
import { blockList, fetchFile } from "./verdict.js";

const KEEP = "pretreat.reading"; // survives a closed tab: a reading cannot be taken twice
const QUEUE = "pretreat.readings"; // those that wait for the connection, oldest first
const RETRY_MS = 20_000;
let gauges = [];
let here = false;
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
  on("step", (step) => { here = step === "machine"; if (here) whole(); });
  on("units", () => { if (here) whole(); });
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

async function whole() {
  drawRecord();
  busy("Computing");
  try {
    found = await run();
    if (here) { drawCard(); drawRecord(); }
  } catch (problem) {
    fill($("card-found"));
    show(problem);
  } finally { busy(""); }
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
  fill($("card-found"), el("h2", {}, "Settings card"),
    order ? el("p", {}, el("span", { class: "order" }, order.text)) : null,
    order ? el("p", {}, figure(seen, "settings.order_why")) : null,
    careful ? el("div", { class: "now" }, el("strong", {}, "Before work"), el("ul", {}, careful.rows.map((row) => el("li", {}, row[1])))) : null,
    stopped ? null : el("dl", { class: "card flows" }, flows.filter(([, key]) => seen.figures[key]).flatMap(([name, key]) =>
      [el("dt", {}, name[0].toUpperCase() + name.slice(1)), el("dd", { class: "setting", "data-key": key }, figure(seen, key))]),
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

function expected(gauge) {
  const key = state.units === "us" ? gauge.figure_us : gauge.figure;
  const text = key && found ? figure(found.seen, key) : "";
  return text ? `expected ${text}` : "";
}

function drawRecord() {
  const many = Object.values(taken.values).filter(Boolean).length;
  fill($("record-found"), el("h2", { id: "record-title", tabIndex: -1 }, "Record"),
    el("p", {}, "Read all gauges within ten minutes, the machine having run steadily for half an hour. * is needed for the baseline."),
    queue.length ? el("div", { class: "now", role: "status" },
      el("p", {}, queue.length > 1 ? `${queue.length} readings are kept on this device and will be sent when the connection is back.`
        : "The reading is kept on this device and will be sent when the connection is back."),
      el("button", { type: "button", onclick: sendWaiting }, "Send now")) : null,
    el("div", { id: "gauge" }), el("p", { role: "status" }, `${many} of ${gauges.length} gauges written`),
    el("div", { id: "said", role: "status" }),
    el("div", { class: "row" },
      el("button", { type: "button", class: "main", id: "send-reading", onclick: sendReading }, "Write the reading into the record"),
      el("button", { type: "button", onclick: forget }, "Start the reading again")),
    el("div", { class: "row" },
      el("label", { class: "button", htmlFor: "open-record" }, "Open record file"),
      el("input", { type: "file", id: "open-record", class: "unseen", accept: ".csv", onchange: openRecord }),
      el("button", { type: "button", disabled: !state.record, onclick: () => download(recordName(state.siteName), state.record, "text/csv") }, "Save record file"),
      el("button", { type: "button", disabled: !state.record, onclick: trends }, "What the record says")),
    el("div", { id: "trends" }));
  drawGauge(false);
}

// One gauge at a time, large; then date, remark and a look at the whole.
function drawGauge(focus) {
  const last = at >= gauges.length;
  const gauge = gauges[Math.min(at, gauges.length - 1)];
  const unit = state.units === "us" ? gauge.unit_us : gauge.unit;
  const id = "gauge-value";
  const input = last
    ? el("input", { id, type: "datetime-local", value: taken.when || nowText(), oninput: (event) => { taken.when = event.target.value; held(); } })
    : el("input", { id, type: "text", inputMode: "decimal", autocomplete: "off", value: taken.values[gauge.key] || "",
      "aria-describedby": "gauge-help", oninput: (event) => { taken.values[gauge.key] = event.target.value; held(); } });
  const move = (by) => { at = Math.max(0, Math.min(gauges.length, at + by)); drawGauge(true); };
  fill($("gauge"), el("form", { class: "gauge", onsubmit: (event) => { event.preventDefault(); if (last) sendReading(); else move(1); } },
    el("progress", { max: gauges.length, value: at, "aria-label": "Gauges done" }),
    el("label", { htmlFor: id }, last ? "Date and time of the reading" : `${gauge.needed ? "* " : ""}${gauge.label}${unit ? `, ${unit}` : ""}`),
    input,
    el("p", { class: "quiet", id: "gauge-help" }, last ? "" : [gauge.section, expected(gauge), "leave empty what is not there"].filter(Boolean).join(" · ")),
    last ? el("div", {}, el("label", { htmlFor: "gauge-note" }, "Remark"), el("input", { id: "gauge-note", type: "text", maxLength: 400, value: taken.note,
      oninput: (event) => { taken.note = event.target.value; held(); } })) : null,
    el("div", { class: "row" },
      el("button", { type: "button", disabled: at === 0, onclick: () => move(-1) }, "Back"),
      last ? null : el("button", { type: "submit", class: "main" }, "Next"))));
  if (focus) $(id).focus();
}

function nowText() {
  const now = new Date();
  const two = (number) => String(number).padStart(2, "0");
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}T${two(now.getHours())}:${two(now.getMinutes())}`;
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
    drawRecord();
    said(answer);
    $("said").scrollIntoView({ block: "nearest" });
  } catch (problem) {
    if (!(problem instanceof Faults && problem.status === 0)) {
      if (!Object.values(taken.values).some(Boolean)) taken = queue.shift().taken; // to be put right
      held();
      show(problem);
    }
    drawRecord();
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
  fill($("said"),
    answer.alarms.length ? el("div", { class: "now" }, el("strong", {}, "Do this now"), el("ul", {}, answer.alarms.map((line) => el("li", {}, line)))) : null,
    answer.doubts.length ? el("div", { class: "now" }, el("strong", {}, "Written, but look again"), el("ul", {}, answer.doubts.map((line) => el("li", {}, line)))) : null,
    answer.alarms.length || answer.doubts.length ? null : el("p", { class: "fine" }, el("strong", {}, "✓ Fine. "),
      answer.complete ? "The reading is complete." : "The reading is written; a baseline needs all gauges marked *."),
    el("p", {}, "The record lives in this browser: save it as a file."));
}

async function openRecord(event) {
  state.record = await event.target.files[0].text();
  keep();
  drawRecord();
  trends();
}

async function trends() {
  busy("Reading the record");
  try {
    const [fields, files] = siteForm({ record: state.record });
    const { seen } = await ask("/page/view_record", fields, files);
    const shown = Object.entries(seen.series).filter(([key]) => key.startsWith("record."));
    fill($("trends"), el("h2", {}, "What the record says"), remarks(graveFirst(seen.flags)),
      shown.map(([, series]) => el("details", { open: shown.length < 3 }, el("summary", {}, series.label), seriesTable(series, series.columns, { hideCaption: true }))));
  } catch (problem) { show(problem); } finally { busy(""); }
}
