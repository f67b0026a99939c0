// Saturation against recovery: dashes tell the scales apart, not colour alone.

import { el, fill } from "./dom.js";

const LOOKS = {
  pct_calcite: ["#1d4e5f", []], pct_gypsum: ["#8a5200", [8, 4]], pct_barite: ["#a32020", [2, 3]],
  pct_celestite: ["#5b3b8c", [10, 3, 2, 3]], pct_fluorite: ["#1f6a3a", [5, 5]], pct_silica: ["#444", [14, 4]],
};
let chart = null;
let marked = 0;
const percent = new Intl.NumberFormat("en", { style: "percent", maximumFractionDigits: 0 });

export function moveChart(recovery) {
  marked = recovery;
  if (chart) chart.redraw(false, false);
}

export function drawChart(box, keys, found, names) {
  const { study, seen } = found;
  const sweep = study.series["scaling.sweep"];
  const column = (name) => sweep.rows.map((row) => row[sweep.columns.indexOf(name)]);
  const here = names.filter((name) => column(name).some((value) => value !== null && value > 0));
  const heading = (name) => seen.series["scaling.sweep"].headings[sweep.columns.indexOf(name)];
  marked = study.figures["machine.recovery"] ? study.figures["machine.recovery"].value : study.figures["concentrate.recovery"].value;
  const limit = study.figures["recovery.max"];
  const data = [column("recovery"), ...here.map((name) => column(name).map((value) => (value > 0 ? value : null)))];
  const options = {
    width: Math.max(box.clientWidth, 280),
    height: 360,
    cursor: { show: false },
    legend: { show: false },
    scales: { x: { time: false, range: [data[0][0], data[0][data[0].length - 1]] }, y: { distr: 3 } },
    axes: [
      { label: "Recovery", values: (_, ticks) => ticks.map((one) => percent.format(one)), stroke: "#1b2a30", font: "14px sans-serif" },
      { label: "% of saturation", size: 70, stroke: "#1b2a30", font: "14px sans-serif",
        values: (_, ticks) => ticks.map((one) => (one === null ? "" : String(one))) },
    ],
    series: [{}, ...here.map((name) => ({ stroke: LOOKS[name][0], dash: LOOKS[name][1], width: 2, points: { show: false } }))],
    hooks: { drawAxes: [(u) => band(u, limit)], draw: [(u) => lines(u, limit)] },
  };
  if (chart) chart.destroy();
  box.replaceChildren();
  chart = new uPlot(options, data, box);
  box.setAttribute("role", "img");
  box.setAttribute("aria-label", `Saturation against recovery. ${limit && limit.value !== null
    ? `The limit is reached at ${percent.format(limit.value)} by ${study.figures["recovery.limited_by"].value}.` : ""} The same numbers stand in the table below.`);
  const limits = seen.series["scaling.limits"];
  const raw = study.series["scaling.limits"];
  const judged = (name) => {
    const n = raw ? raw.rows.findIndex((row) => row[0] === name.replace("pct_", "")) : -1;
    if (n < 0) return "";
    const cell = (column) => limits.rows[n][limits.columns.indexOf(column)];
    return cell("measure").startsWith("%") ? `, limit ${cell("limit")} %` : `, judged by its ${cell("measure")}, limit ${cell("limit")}`;
  };
  fill(keys, here.map((name) => el("li", {}, sample(LOOKS[name]), heading(name), judged(name))),
    el("li", {}, sample(["#6c7d84", []]), "100 % of saturation; a limit may stand above it"),
    el("li", {}, sample(["#000", []]), "recovery chosen"),
    limit && limit.value !== null ? el("li", {}, sample(["#d07a00", [6, 4]]), "maximum recovery, with the band of 8 in 10 draws") : null);
}

function sample([colour, dash]) {
  const space = "http://www.w3.org/2000/svg";
  const svg = document.createElementNS(space, "svg");
  const line = document.createElementNS(space, "path");
  svg.setAttribute("width", "34");
  svg.setAttribute("height", "8");
  svg.setAttribute("aria-hidden", "true");
  for (const [name, value] of [["d", "M0 4h34"], ["stroke", colour], ["stroke-width", "2.5"], ["stroke-dasharray", dash.join(" ")]]) {
    line.setAttribute(name, value);
  }
  svg.append(line);
  return svg;
}

function band(u, limit) {
  if (!limit || limit.p10 === undefined) return;
  const from = u.valToPos(limit.p10, "x", true);
  const to = u.valToPos(limit.p90, "x", true);
  u.ctx.fillStyle = "rgba(208, 122, 0, 0.18)";
  u.ctx.fillRect(from, u.bbox.top, to - from, u.bbox.height);
}

function stroke(u, x, colour, dash) {
  if (x < u.bbox.left || x > u.bbox.left + u.bbox.width) return;
  u.ctx.save();
  u.ctx.strokeStyle = colour;
  u.ctx.lineWidth = 2 * devicePixelRatio;
  u.ctx.setLineDash(dash);
  u.ctx.beginPath();
  u.ctx.moveTo(x, u.bbox.top);
  u.ctx.lineTo(x, u.bbox.top + u.bbox.height);
  u.ctx.stroke();
  u.ctx.restore();
}

function lines(u, limit) {
  if (limit && limit.value !== null) stroke(u, u.valToPos(limit.value, "x", true), "#d07a00", [6, 4]);
  stroke(u, u.valToPos(marked, "x", true), "#000", []);
  const y = u.valToPos(100, "y", true);
  u.ctx.save();
  u.ctx.strokeStyle = "#6c7d84";
  u.ctx.setLineDash([]);
  u.ctx.beginPath();
  u.ctx.moveTo(u.bbox.left, y);
  u.ctx.lineTo(u.bbox.left + u.bbox.width, y);
  u.ctx.stroke();
  u.ctx.restore();
}

addEventListener("resize", () => {
  if (chart && chart.root.parentElement) chart.setSize({ width: Math.max(chart.root.parentElement.clientWidth, 280), height: 360 });
});
