// The study of the site as it stands: run once, shared by all steps, forgotten on any change.

import { ask, send, siteForm } from "./api.js";
import { state, on, tell } from "./state.js";

let running = null;

for (const what of ["site", "opened", "mode", "units", "checked"]) on(what, () => { running = null; });

export function run() {
  if (!running) {
    const mine = ask(`/page/view_${state.mode}`, ...siteForm());
    running = mine;
    mine.then(() => tell("ran"), () => { if (running === mine) running = null; });
  }
  return running;
}

export async function file(path, study) {
  const answer = await send(`${path}?units=${state.units}`, JSON.stringify(study));
  return answer.blob();
}
