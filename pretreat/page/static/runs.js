// The study of the site as it stands: run once, shared by all steps, forgotten on any change.

import { $, el } from "./dom.js";
import { ask, send, siteForm, Faults } from "./api.js";
import { state, on, tell } from "./state.js";
import { askFor } from "./site.js";
import { busy, show, changesTaken, useSite } from "./app.js";

const LAST = "pretreat.answer"; // so that the card is there in a cellar without a connection
const NO_SITE = "nothing is entered yet: choose the lab report, type a test kit or open a site file (step 1), or give the machine and its vessels (step 2)";
const FIRST = ["machine.product_flow", "machine.recovery", "machine.hours_per_day"];
const NOT_ASKED = 422;
let running = null;

for (const what of ["site", "opened", "mode", "units", "checked"]) on(what, () => { running = null; });

export function run() {
  if (!running) {
    const mine = asked();
    running = mine;
    mine.then(() => tell("ran"), () => { if (running === mine) running = null; });
  }
  return running;
}

// The answer of the program; the last one again where it cannot be reached and nothing changed.
async function asked() {
  if (!state.site.trim()) throw new Faults([NO_SITE], NOT_ASKED, FIRST);
  const now = { site: state.site, mode: state.mode, units: state.units };
  try {
    const found = await ask(`/page/view_${state.mode}`, ...siteForm());
    try { localStorage.setItem(LAST, JSON.stringify({ now, found })); } catch { localStorage.removeItem(LAST); }
    return found;
  } catch (problem) {
    const last = problem.status === 0 ? JSON.parse(localStorage.getItem(LAST) || "null") : null;
    if (last && Object.keys(now).every((name) => last.now[name] === now[name])) return last.found;
    throw problem;
  }
}

// A step that shows the study: drawn when it is turned to and after every change, marked while
// what stands there is of an earlier input. `begin` is told of a change before the answer.
export function watch(name, draw, options = {}) {
  let here = false;
  let turn = 0;
  let drawn = false;
  const place = $(`${name}-found`) || $("card-found");
  const mark = el("p", { class: "stale", role: "status", hidden: true });
  place.before(mark);
  const stale = (text) => {
    mark.textContent = text;
    mark.hidden = !text;
    place.classList.toggle("old", Boolean(text));
  };
  async function whole() {
    const mine = ++turn;
    if (drawn) stale("Being computed anew: what stands below is of the input before the last change.");
    busy("Computing");
    try {
      await changesTaken();
      if (Object.keys(state.unsent).length) await useSite().catch((problem) => { if (problem.status !== 0) throw problem; });
      if (mine !== turn) return;
      const found = await run();
      if (mine !== turn || !here) return;
      show(null);
      draw(found);
      drawn = true;
      stale(waits());
    } catch (problem) {
      if (mine !== turn || !here) return;
      if (problem.status === 0 && drawn) stale(waits() || "Not up to date: the program cannot be reached. What stands below is of the input before the last change.");
      else {
        drawn = false;
        stale("");
        if (options.wipe) options.wipe();
        askFor($(options.place || place.id), problem);
      }
      show(problem);
    } finally { if (mine === turn) busy(""); }
  }
  on("step", (step) => { here = step === name; if (here) whole(); });
  for (const what of ["site", "units", "mode", "opened", "checked"]) on(what, () => { if (here && !(options.held && options.held())) whole(); });
  on("unsent", () => { if (here && drawn) stale(waits()); });
  return { whole, showing: () => here };
}

// What was changed without a connection, in words; empty where nothing waits.
function waits() {
  const names = Object.keys(state.unsent);
  const label = (name) => { const field = document.querySelector(`[data-field="${name}"]`); return field ? field.dataset.label : name; };
  return names.length ? `Not up to date: ${names.map(label).join(", ")} was changed without a connection and waits to be sent. What stands below is of the input before.` : "";
}

export async function file(path, study) {
  const answer = await send(`${path}?units=${state.units}`, JSON.stringify(study));
  return answer.blob();
}
