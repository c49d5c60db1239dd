// Keeping the work as it is written: saved after each pause, told when it is not, and when somebody else writes too.

import { $, make, paused, say, send } from "./dom.js";
import { body, load, model } from "./model.js";

const PAUSE = 350;
const AGAIN = 2000;
const LOOK = 8000;
const work = JSON.parse($("#work").textContent);
const page = crypto.getRandomValues(new Uint32Array(4)).reduce((text, part) => text + part.toString(16).padStart(8, "0"), "");
const aside = `letterkit ${work.id}`;
let version = work.version;
let writing = false;
let dirty = false;
let conflict = false;
let redraw = () => {};

const later = paused(run, PAUSE);

// From the first key on the page no longer says that all is saved.
export const save = Object.assign(() => {
  if ($("#saved").dataset.state === "kept") tell("busy", "Saving…");
  later();
}, { flush: later.flush, waiting: later.waiting });

function tell(state, words) {
  $("#saved").dataset.state = state;
  say($("#saved"), words);
}

// While the service does not answer, the work is also kept in this window of the browser, and taken out once saved.
function setAside(kept) {
  try {
    if (kept) sessionStorage.setItem(aside, JSON.stringify({ version, body: kept }));
    else sessionStorage.removeItem(aside);
  } catch { /* no room: the page itself still holds it */ }
}

async function run() {
  if (writing || conflict) { dirty = true; return; }
  writing = true;
  dirty = false;
  const kept = body();
  tell("busy", "Saving…");
  try {
    const told = await send("PUT", `/compose/${work.id}`, { version, window: page, body: kept });
    if (!version) history.replaceState(null, "", `/compose/${work.id}`);
    version = told.version;
    setAside(null);
    if (!dirty && !save.waiting()) tell("kept", "Saved");
    $("#trouble").replaceChildren();
  } catch (error) {
    if (error.status === 412) clash(error.message);
    else if (error.status === 404) tell("lost", "This letter was approved or discarded elsewhere; nothing more is saved here");
    else if (error.status === 401) { setAside(kept); tell("lost", "Your session is over. Sign in in another tab, then write on: nothing is lost while this page is open"); retry(); }
    else {
      setAside(kept);
      tell("lost", error.status ? `Not saved: ${error.message}` : "Not saved: the service does not answer. Your work stays in this page and is saved as soon as it answers");
      if (!error.status || error.status >= 500 || error.status === 429) retry();
    }
  }
  writing = false;
  if (dirty) save();
}

function retry() { dirty = true; setTimeout(() => { if (!writing) run(); }, AGAIN); }

function clash(words) {
  conflict = true;
  tell("lost", "Not saved: two people write this letter");
  const mine = make("button", { type: "button", onclick: async () => {
    const told = await send("POST", `/compose/${work.id}/presence`, { window: page });
    conflict = false;
    version = told.version ?? 0;
    $("#trouble").replaceChildren();
    run();
  } }, "Keep what is on my page, in place of theirs");
  const theirs = make("button", { type: "button", onclick: () => { setAside(null); location.assign(`/compose/${work.id}`); } }, "Take theirs, and lose my last changes");
  $("#trouble").replaceChildren(make("div", { class: "fault" }, make("p", {}, make("strong", {}, "Two people write this letter. "), words, " Your latest changes are only on this page."), make("p", { class: "actions" }, theirs, " ", mine)));
  theirs.focus();
}

async function look() {
  if (!version) return;
  try {
    const told = await send("POST", `/compose/${work.id}/presence`, { window: page });
    const others = told.others.length ? `Also open elsewhere: ${told.others.join(", ")}. Whoever saves second is told.` : "";
    say($("#others"), others);
    $("#others").className = others ? "note" : "";
    if (told.version && told.version !== version && !writing && !save.waiting() && !conflict) clash(`${told.by} has changed it since you opened it.`);
  } catch { /* the next saving tells */ }
}

export function restore() {
  let found = null;
  try { found = JSON.parse(sessionStorage.getItem(aside)); } catch { /* nothing usable */ }
  if (found && found.version === version) { load(found.body); return true; }
  return false;
}

export async function settled() {
  save.flush();
  for (let tries = 0; (writing || dirty) && tries < 100; tries += 1) await new Promise((resolve) => { setTimeout(resolve, 30); });
  if (!version && !conflict) await run(); // an invented or copied letter that nobody changed is kept now
  return !conflict && version > 0 && $("#saved").dataset.state === "kept";
}

export function bindSaving(again) {
  redraw = again;
  setInterval(look, LOOK);
  look();
  addEventListener("pagehide", () => {
    const options = { method: "PUT", keepalive: true, headers: { "Content-Type": "application/json" } };
    if ((save.waiting() || dirty) && !conflict) fetch(`/compose/${work.id}`, { ...options, body: JSON.stringify({ version, window: page, body: body() }) });
    if (version) fetch(`/compose/${work.id}/presence`, { ...options, method: "POST", body: JSON.stringify({ window: page, leaving: true }) });
  });
  $("#finish").addEventListener("click", async (event) => {
    event.preventDefault();
    if (await settled()) location.assign($("#finish").href);
  });
  return { model, redraw };
}
