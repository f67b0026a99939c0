// Asking the program: a form or a document out, JSON or a file back, faults as lines.

import { state } from "./state.js";

const FAULT = 422;

export class Faults extends Error {
  constructor(lines, status, fields = []) {
    super(lines.join("\n"));
    this.fields = fields; // of the form, that the faults speak of
    this.lines = lines;
    this.status = status;
  }
}

async function answered(request) {
  let answer;
  try {
    answer = await request;
  } catch (problem) {
    if (problem.name === "AbortError") throw problem;
    throw new Faults(["the program cannot be reached: is the connection there, and pretreat page still running? What you enter is kept here."], 0);
  }
  if (answer.ok) return answer;
  let lines;
  try {
    lines = (await answer.json()).errors;
  } catch {
    lines = [`the program answered ${answer.status}`];
  }
  throw new Faults(lines, answer.status);
}

export async function ask(path, fields = {}, files = [], signal = undefined) {
  const form = new FormData();
  for (const [name, value] of Object.entries(fields)) {
    for (const one of [value].flat()) if (one !== undefined && one !== null && one !== "") form.append(name, one);
  }
  for (const [name, file] of files) form.append(name, new Blob([file.content]), file.name);
  if (!fields.units) form.append("units", state.units);
  const answer = await answered(fetch(path, { method: "POST", body: form, signal, headers: { "X-Faults": "told" } }));
  const body = await answer.json();
  if (body.errors) throw new Faults(body.errors, FAULT, body.fields);
  return body;
}

export async function send(path, body) {
  return answered(fetch(path, {
    method: "POST", body, headers: { "Content-Type": "application/json" },
  }));
}

export async function get(path) {
  return (await answered(fetch(path))).json();
}

// The site as a form: its text and the reports that are open.
export function siteForm(more = {}) {
  return [{ site: state.site, ...more }, state.reports.map((one) => ["report", one])];
}
