// Compose: wires the three regions together.

import { $, paused, reach, send } from "./dom.js";
import { bindExamination, draw, fetchCatalogue, showStages, slotOf } from "./examination.js";
import { bind, fieldOf, fill } from "./fields.js";
import { bindHands, markHands } from "./hands.js";
import { entryAt, load, model, onChange } from "./model.js";
import { bindNote, readNote, showReading } from "./note.js";
import { ask, bindPreview, run as askNow } from "./preview.js";
import { bindSaving, restore, save } from "./saving.js";

const KEYS = { f: "#find", n: "#note", l: "#paper", q: "#queries-title" };

function keys(event) {
  if (!event.altKey || event.ctrlKey || event.metaKey) return;
  if (event.key === "Enter") { event.preventDefault(); $("#finish").click(); return; }
  const found = KEYS[event.key.toLowerCase()];
  if (!found) return;
  event.preventDefault();
  const node = $(found);
  if (!node.matches("input, textarea, [tabindex]")) node.tabIndex = -1;
  reach(node);
}

// An address may name a place of the record: `#examination.findings[3]`.
function arrive() {
  const place = decodeURIComponent(location.hash.slice(1));
  if (!place || document.getElementById(place)) return;
  const found = /^examination\.findings\[(\d+)\]/.exec(place);
  const node = found ? slotOf(entryAt(Number(found[1]))?.id) : fieldOf(place);
  if (node) reach(node);
}

async function begin() {
  load(JSON.parse($("#work").textContent).body);
  const restored = restore();
  await fetchCatalogue();
  bind();
  fill();
  bindExamination();
  bindHands();
  bindPreview();
  const afterReading = bindNote();
  const all = () => { draw(); showStages(); markHands(); };
  const read = paused(() => readNote(() => { afterReading(); markHands(); askNow(); save(); }), 25);
  onChange((what) => {
    if (what === "note") { read(); save(); return; }
    if (what === "entries") { showStages(); markHands(); }
    if (what === "seen") draw();
    if (what !== "fields") showReading();
    ask();
    save();
  });
  bindSaving(all);
  document.addEventListener("keydown", keys);
  $("#recorded").inert = false;
  if (model.note.trim()) await readNote(afterReading);
  all();
  ask();
  if (restored) save();
  if (!model.encounter.patient && !model.note) $("#part-people").open = true;
  arrive();
  // The reader takes seconds to load; it does so while nobody waits for it.
  document.addEventListener("letter-shown", () => send("POST", "/compose/reading", { text: " " }).catch(() => {}), { once: true });
  document.documentElement.dataset.ready = "yes";
}

begin();
