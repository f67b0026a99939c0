// The study of the site as it stands: run once, shared by all steps, forgotten on any change.

import { ask, send, siteForm, Faults } from "./api.js";
import { state, on, tell } from "./state.js";

const LAST = "pretreat.answer"; // so that the card is there in a cellar without a connection
const NO_SITE = "there is no water and no machine yet: choose the lab report or open a site file (step 1), then give what every job needs (step 2)";
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
  if (!state.site.trim()) throw new Faults([NO_SITE], NOT_ASKED);
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

export async function file(path, study) {
  const answer = await send(`${path}?units=${state.units}`, JSON.stringify(study));
  return answer.blob();
}
