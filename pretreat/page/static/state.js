// What a person entered. It lives in this browser, and in files that the person saves.

const KEEP = "pretreat.tab";
const LAST = "pretreat.last"; // outlives a closed tab: offered to go on with, or forgotten
const SMALL = 1_000_000; // characters that a browser surely keeps

export const state = {
  units: "si",
  mode: "size",
  site: "",
  siteName: "site.toml",
  values: {},
  reports: [], // { name, content: Uint8Array }
  pick: {}, // sample, column, unit, sheet, decimal of the report
  record: "",
  unsent: {}, // fields changed without a connection, sent with the next change
};

const heard = new Map();

export function on(what, call) {
  heard.set(what, [...(heard.get(what) || []), call]);
}

export function tell(what, detail) {
  for (const call of heard.get(what) || []) call(detail);
}

export function keep() {
  const small = state.reports.reduce((sum, one) => sum + one.content.length, 0) < SMALL;
  const reports = small
    ? state.reports.map((one) => ({ name: one.name, content: toText(one.content) })) : [];
  const whole = JSON.stringify({ ...state, reports });
  stored(sessionStorage, KEEP, whole);
  if (Object.keys(state.values).length || state.record) stored(localStorage, LAST, whole);
}

function stored(store, name, text) {
  try {
    store.setItem(name, text);
  } catch {
    // a full or closed store: the page works on, only a reload forgets
  }
}

export function restore(text = sessionStorage.getItem(KEEP)) {
  try {
    const kept = JSON.parse(text || "null");
    if (!kept) return false;
    Object.assign(state, kept, {
      reports: kept.reports.map((one) => ({ name: one.name, content: toBytes(one.content) })),
    });
    return true;
  } catch {
    return false;
  }
}

// What an earlier tab held, as text for `restore`; null where there is nothing.
export function earlier() {
  return localStorage.getItem(LAST);
}

export function forget() {
  for (const name of Object.keys(localStorage)) {
    if (name.startsWith("pretreat.") && !name.startsWith("pretreat.reading")) localStorage.removeItem(name);
  }
}

export function toText(bytes) {
  let text = "";
  for (let i = 0; i < bytes.length; i += 0x8000) {
    text += String.fromCharCode(...bytes.subarray(i, i + 0x8000));
  }
  return btoa(text);
}

export function toBytes(text) {
  return Uint8Array.from(atob(text), (sign) => sign.charCodeAt(0));
}
