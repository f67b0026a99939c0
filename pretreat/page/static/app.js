// The page: which step is shown, the units, the site file, and who is told of a change.

import { $, fill, el, download } from "./dom.js";
import { ask, get, Faults } from "./api.js";
import { state, on, tell, keep, restore, earlier, forget, toBytes } from "./state.js";
import { startReport } from "./report.js";
import { startSite } from "./site.js";
import { startVerdict } from "./verdict.js";
import { startTrain } from "./train.js";
import { startMachine } from "./machine.js";
import { startQuote } from "./quote.js";

const RETRY_MS = 20_000;
const STEPS = ["report", "site", "verdict", "train", "machine", "quote"];

export function busy(text) {
  $("busy").textContent = text || "";
}

export function show(problem) {
  if (problem && problem.name === "AbortError") return;
  const lines = problem instanceof Faults ? problem.lines : problem ? [String(problem)] : [];
  fill($("faults"), lines.map((line) => el("p", {}, line)));
  if (lines.length) $("faults").scrollIntoView({ block: "nearest" });
}

function step() {
  const named = location.hash.slice(1);
  return STEPS.includes(named) ? named : "report";
}

function turn(focus) {
  const here = step();
  for (const name of STEPS) $(name).hidden = name !== here;
  for (const link of document.querySelectorAll("nav a")) {
    if (link.hash === `#${here}`) {
      link.setAttribute("aria-current", "page");
      link.scrollIntoView({ block: "nearest", inline: "center" });
    }
    else link.removeAttribute("aria-current");
  }
  document.title = `${$(`${here}-title`).textContent} · pretreat`;
  show(null);
  if (focus) {
    $("main").focus({ preventScroll: true });
    scrollTo(0, 0);
  }
  tell("step", here);
}

// Changes of the site file go out one after the other, each on top of the answer to the one before:
// none is lost, and no late answer takes back a later change.
let lastChange = Promise.resolve();

export function useSite(changes = {}, { site, report, prices } = {}) {
  const units = state.units; // those that the change was typed in
  const mine = lastChange.then(() => taken(changes, site, report, prices, units));
  lastChange = mine.catch(() => {});
  return mine;
}

// Resolves when every change made so far has been answered.
export const changesTaken = () => lastChange;

async function taken(changes, site, report, prices, units) {
  const all = site === undefined ? { ...state.unsent, ...changes } : changes; // of another file, nothing waits
  let answer;
  try {
    answer = await ask("/page/site", { site: site ?? state.site, name: report, changes: JSON.stringify(all), units },
      prices ? [["prices", prices]] : []);
  } catch (problem) {
    if (problem.status === 0 && site === undefined) {
      const first = !Object.keys(state.unsent).length;
      state.unsent = all;
      keep();
      if (first) tell("unsent");
    }
    throw problem;
  }
  state.unsent = {};
  state.site = answer.site;
  state.values = answer.values;
  named();
  keep();
  tell("site", { ...answer, taken: all, anew: site !== undefined });
  return answer;
}

function named() {
  $("site-name").textContent = state.values["site.name"] || "";
}

async function opened(files) {
  const read = await Promise.all(files.map(async (file) =>
    ({ name: file.name, content: new Uint8Array(await file.arrayBuffer()) })));
  const site = read.find((one) => one.name.endsWith(".toml"));
  const others = read.filter((one) => one !== site);
  if (others.length) state.reports = others;
  if (site) {
    state.siteName = site.name;
    let answer = await useSite({}, { site: new TextDecoder().decode(site.content) });
    const units = answer.values["site.units"];
    if (units && units !== state.units) {
      state.units = units;
      showUnits();
      answer = await useSite();
    }
    state.mode = hasVessels() ? "rate" : "size";
    if (!state.reports.some((one) => one.name === answer.report.split("/").pop())) {
      state.reports = answer.report ? [] : state.reports;
      if (answer.report) {
        show(new Faults([`now choose the lab report that the site file names: ${answer.report}`]));
        $("faults").dataset.kind = "hint";
      }
    }
  }
  keep();
  tell("opened");
}

function hasVessels() {
  return Object.keys(state.values).some((name) =>
    /\.(resin_volume|vessel|vessel_diameter|media_volume|media_depth)$/.test(name));
}

function showUnits() {
  for (const radio of document.querySelectorAll("input[name=units]")) radio.checked = radio.value === state.units;
}

function startTop() {
  showUnits();
  for (const radio of document.querySelectorAll("input[name=units]")) {
    radio.addEventListener("change", async () => {
      const before = state.units;
      await changesTaken(); // what was typed is in the units that stood there
      state.units = radio.value;
      try {
        await useSite();
        tell("units");
      } catch (problem) {
        state.units = before; // the values shown are still in these
        showUnits();
        show(problem);
      }
    });
  }
  $("open-site").addEventListener("change", async (event) => {
    try {
      show(null);
      await opened([...event.target.files]);
    } catch (problem) { show(problem); }
    event.target.value = "";
  });
  $("save-site").addEventListener("click", () =>
    download(state.siteName, state.site, "application/toml"));
  addEventListener("hashchange", () => turn(true));
}

// What an earlier tab left: to go on with, or to forget.
function offer() {
  const text = earlier();
  if (!text) return;
  const { siteName, values = {} } = JSON.parse(text);
  const goOn = async () => {
    fill($("earlier"));
    restore(text);
    showUnits();
    try { await useSite(); tell("opened"); } catch (problem) { show(problem); }
    $("main").focus({ preventScroll: true });
  };
  const drop = () => { forget(); fill($("earlier")); $("main").focus({ preventScroll: true }); };
  fill($("earlier"), el("p", {}, `This browser still holds what was entered last: ${values["site.name"] || siteName}.`),
    el("div", { class: "row" }, el("button", { type: "button", class: "main", onclick: goOn }, "Go on with it"),
      el("button", { type: "button", onclick: drop }, "Forget it")));
}

async function start() {
  const kept = restore();
  named();
  try {
    startTop();
    const [form, opening] = await Promise.all([get("/page/form"), kept ? null : get("/page/opening").catch(() => null)]);
    startReport(form);
    startSite(form);
    startVerdict();
    startTrain();
    startMachine(form);
    startQuote(form);
    if (opening && opening.site) {
      state.siteName = opening.name;
      state.reports = opening.files.map((one) => ({ name: one.name, content: toBytes(one.content) }));
      await useSite({}, { site: opening.site });
      state.mode = hasVessels() ? "rate" : "size";
      tell("opened");
    } else {
      await useSite().catch((problem) => {
        if (problem.status !== 0) throw problem;
        tell("site", { values: state.values }); // without a connection, as it was kept
      });
      if (kept) tell("opened");
      else offer();
    }
    turn(false);
    document.body.dataset.ready = "yes";
  } catch (problem) {
    $("report").hidden = false;
    show(problem);
  }
}

if ("serviceWorker" in navigator) navigator.serviceWorker.register("/sw.js").catch(() => {});
for (const what of ["site", "opened"]) on(what, () => { if (Object.keys(state.values).length) fill($("earlier")); });
function sendUnsent() {
  if (Object.keys(state.unsent).length) useSite().then(() => show(null), (problem) => { if (problem.status !== 0) show(problem); });
}

addEventListener("online", sendUnsent);
setInterval(sendUnsent, RETRY_MS); // a program that was started again makes no event
on("go", (where) => { location.hash = where; });
start();
