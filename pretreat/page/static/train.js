// The train: the choices as cards, the stages and why, the settings of each vessel.

import { $, el, fill, seriesTable, remarks } from "./dom.js";
import { show, useSite } from "./app.js";
import { state } from "./state.js";
import { watch } from "./runs.js";
import { answer, blockList } from "./verdict.js";

export function startTrain() {
  watch("train", draw);
}

function draw({ seen, study }) {
  const fixed = state.values["train.stages"];
  const warned = seen.flags.filter((flag) => flag.level === "warning" && !flag.standing);
  fill($("train-found"), answer(seen), warned.length ? remarks(warned) : null, choices(seen, study),
    fixed ? el("p", {}, `The site file fixes this train: ${fixed}. `,
      el("button", { type: "button", onclick: () => choose("") }, "Let the program choose again")) : null,
    el("h2", {}, "Stages in the order of flow"),
    seen.series["train.stages"] ? seriesTable(seen.series["train.stages"], ["stage", "decision", "reason"],
      { hideCaption: true, stack: true, rowClass: (n) => (study.series["train.stages"].rows[n][1] === "in" ? "chosen" : "") }) : null,
    vessels(seen));
}

const SHOWN = ["verdict", "probability", "recovery_reached", "overall_water_recovery", "cost_per_year", "capital", "salt_kg_per_year", "waste_m3_per_year"];
let compared = null; // the trains as they were compared before one of them was chosen

const rest = () => JSON.stringify([{ ...state.values, "train.stages": "" }, state.units, state.mode]);

function choices(seen, study) {
  let series = seen.series["train.choices"];
  let raw = study.series["train.choices"];
  let chosen = study.figures["train.chosen"] && study.figures["train.chosen"].value;
  const fixed = state.values["train.stages"];
  let prices = seen.flags.find((flag) => flag.code === "prices_by_program");
  if (series && !fixed) compared = { series, raw, prices, rest: rest() };
  else if (fixed && compared && compared.rest === rest()) {
    ({ series, raw, prices } = compared);
    chosen = fixed.split(/,\s*/).join(" + ");
  }
  if (!series) return waysToKeep(seen);
  const at = (name) => series.columns.indexOf(name);
  const cards = series.rows.map((row, n) => {
    const stages = raw.rows[n][at("stages")];
    const feasible = raw.rows[n][at("feasible")] === "yes";
    const counted = raw.rows[n][at("cost_per_year")] !== null; // worked out, only not the better one
    const why = row[at("why_not")];
    return el("div", { class: `card ${stages === chosen ? "chosen" : ""}`, "data-train": stages },
      el("h3", {}, `${row[at("rank")]}. ${stages.replace(/_/g, " ")}`),
      stages === chosen ? el("p", {}, el("span", { class: "mark sure" }, "✓ chosen")) : null,
      feasible ? null : counted ? el("p", {}, el("span", { class: "mark assumed" }, "– passed over"), ` ${inWords(why)}`)
        : el("p", {}, el("span", { class: "mark guessed" }, "✕ not feasible"), ` ${inWords(why)}`),
      el("dl", {}, SHOWN.filter((name) => at(name) >= 0 && row[at(name)]).flatMap((name) =>
        [el("dt", {}, series.headings[at(name)] + (series.units[at(name)] ? `, ${series.units[at(name)]}` : "")), el("dd", {}, row[at(name)])])),
      stages === chosen ? null : el("button", { type: "button", onclick: () => choose(stages) }, "Choose this train"));
  });
  const about = [fixed ? "As they were compared before one of them was chosen." : "",
    "Chance: the share of draws of water and limits in which every scale keeps its limit.",
    prices ? `Costs: ${prices.text.replace("in [prices]", "under 6 Quote, Prices")}.` : "Costs with the prices given under 6 Quote."];
  const first = cards.slice(0, 6);
  const more = cards.slice(6);
  return el("div", {}, el("h2", {}, "Trains side by side, best first"),
    el("p", { class: "quiet" }, about.filter(Boolean).join(" ")), el("div", { class: "cards" }, first),
    more.length ? el("details", {}, el("summary", {}, `${more.length} more`), el("div", { class: "cards" }, more)) : null);
}

const inWords = (text) => text.replace(/; write \[\w+\] \w+ = \S+ to have it/, "; “Choose this train” takes it");

function waysToKeep(seen) {
  const series = seen.series["compare.options"];
  if (!series) return null;
  const at = (name) => series.columns.indexOf(name);
  const head = (name) => series.headings[at(name)] + (series.units[at(name)] ? `, ${series.units[at(name)]}` : "");
  const names = ["reaches", "recovery", "limited_by", "total", "kg_per_year", "waste_m3_year"];
  return el("div", {}, el("h2", {}, "Scale control options side by side"),
    el("div", { class: "cards" }, series.rows.map((row) => el("div", { class: "card" }, el("h3", {}, row[at("option")]),
      el("dl", {}, names.filter((name) => at(name) >= 0).flatMap((name) => [el("dt", {}, head(name)), el("dd", {}, row[at(name)] || "–")]))))));
}

async function choose(stages) {
  const turned = stages.includes("(counter-current)") ? { "softener.direction": "counter-current" } : {};
  const keys = stages.replace(/ \([^)]*\)/g, "").split(" + ").join(", ");
  try {
    show(null);
    await useSite({ "train.stages": keys, ...turned });
    $("main").focus({ preventScroll: true });
    scrollTo(0, 0);
  } catch (problem) { show(problem); }
}

function vessels(seen) {
  const blocks = Object.entries(seen.series).filter(([key]) => key.endsWith(".settings"));
  const stages = Object.keys(seen.series).filter((key) => /\.(settings|options)$/.test(key)).map((key) => key.split(".")[0]);
  return [el("h2", {}, "Vessels and settings"), el("div", { class: "cards flow" },
    seen.main.filter((block) => block.keys.some((key) => stages.includes(key.split(".")[0])))
      .map((block) => el("div", { class: "card" }, el("h3", {}, block.heading), blockList(seen, block)))),
  blocks.map(([, series]) => seriesTable(series, series.columns, { stack: true }))];
}
