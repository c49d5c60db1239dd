// The pasted note: read as it is typed, its words marked with what became of them, its findings among the entries.

import { $, make, plural, reach, say, send } from "./dom.js";
import { draw, showStages, slotOf } from "./examination.js";
import { changed, entryOf, model, newEntry, words } from "./model.js";

const keyOf = (record, quote) => JSON.stringify([record, quote]);
let reading = null;
let turn = null;

// Puts a reading in place of the one before: what is read alike keeps its entry, what is gone goes, and what was changed
// or removed by hand does not come back.
function merge(found) {
  const dismissed = new Set(model.dismissed);
  const before = new Map(model.entries.filter((entry) => entry.origin === "note").map((entry) => [entry.key, entry]));
  const now = [];
  for (const each of found.findings) {
    const quote = found.text.slice(each.start, each.end);
    let key = keyOf(each.record, quote);
    for (let again = 2; now.some((entry) => entry.key === key); again += 1) key = keyOf(each.record, `${quote} ${again}`);
    each.key = key;
    if (dismissed.has(key)) continue;
    const entry = before.get(key) || newEntry(structuredClone(each.record), { origin: "note", key });
    Object.assign(entry, { sure: each.sure, reasons: each.reasons, quote });
    each.entry = entry.id;
    now.push(entry);
  }
  model.entries = [...now, ...model.entries.filter((entry) => entry.origin !== "note")];
  const stages = [];
  for (const each of found.stages.filter(({ record }) => record.stage)) {
    const key = JSON.stringify([each.of, each.record]);
    if (!dismissed.has(key)) stages.push(key);
  }
  for (const key of model.stages) {
    const [of] = JSON.parse(key);
    model[of] = model[of].filter((each) => JSON.stringify([of, each]) !== key);
  }
  for (const key of stages) {
    const [of, record] = JSON.parse(key);
    model[of].push(record);
  }
  model.stages = stages;
}

function chips(each) {
  return each.of
    ? [make("span", { class: "chip" }, `${each.record.stage ? "stage" : each.record.item} ${each.of === "normal" ? "normal" : "not examined"}`)]
    : each.list.map((finding) => {
      const entry = finding.entry && entryOf(finding.entry);
      if (!entry) return make("span", { class: "chip aside" }, "changed by hand");
      return make("button", { type: "button", class: `chip${entry.sure || entry.seen ? "" : " doubtful"}`, "data-of": entry.id, title: entry.reasons.join("; ") || null, onclick: () => { const slot = slotOf(entry.id); if (slot) reach(slot); } },
        `${entry.sure || entry.seen ? "" : "? "}${words(entry)}`);
    });
}

// Stretches of the note that one or several findings stand for, in order and without overlap.
function stretches() {
  const all = [...reading.findings.map((each) => ({ ...each, list: [each] })), ...reading.stages.map((each) => ({ ...each, list: [] }))].sort((a, b) => a.start - b.start || a.end - b.end);
  const found = [];
  for (const each of all) {
    const before = found.at(-1);
    if (before && each.start < before.end && !each.of && !before.of) {
      before.end = Math.max(before.end, each.end);
      before.list.push(...each.list);
    } else if (!before || each.start >= before.end) found.push({ ...each });
    else if (each.list.length) before.list.push(...each.list);
  }
  return found;
}

const SAYS = { unread: "not read", not_current: "not today", read: "", plain: "" };

function piece(start, end) {
  const pieces = [];
  for (const span of reading.spans) {
    const [from, to] = [Math.max(start, span.start), Math.min(end, span.end)];
    if (from >= to) continue;
    const text = reading.text.slice(from, to);
    if (span.kind === "unread" || span.kind === "not_current") {
      pieces.push(make("span", { class: span.kind === "unread" ? "unread-words" : "other-words" }, text, make("span", { class: "says" }, ` ${SAYS[span.kind]}${span.why && span.kind !== "unread" ? `: ${span.why}` : ""} `)));
    } else pieces.push(text);
  }
  return pieces;
}

export function showReading() {
  const panel = $("#as-read");
  panel.hidden = !reading || !reading.text.trim();
  if (panel.hidden) { say($("#note-state"), ""); return; }
  const nodes = [];
  let at = 0;
  for (const each of stretches()) {
    nodes.push(...piece(at, each.start));
    const doubt = each.list.some((finding) => { const entry = finding.entry && entryOf(finding.entry); return entry && !entry.sure && !entry.seen; });
    nodes.push(make("mark", { class: doubt ? "doubt-words" : "read-words" }, reading.text.slice(each.start, each.end)), ...chips(each));
    at = each.end;
  }
  nodes.push(...piece(at, reading.text.length));
  $("#as-read-text").replaceChildren(...nodes);
  const unread = reading.spans.filter((span) => span.kind === "unread").length;
  say($("#note-state"), `${plural(reading.findings.length, "finding", "findings")} read${unread ? `; ${plural(unread, "stretch", "stretches")} not read` : ""}.`);
}

export async function readNote(then) {
  turn?.abort();
  turn = new AbortController();
  const { signal } = turn;
  if (!model.note.trim()) {
    reading = { text: "", findings: [], stages: [], spans: [] };
    model.dismissed = []; // a note pasted afresh is read afresh
  } else {
    try {
      reading = await send("POST", "/compose/reading", { text: model.note, language: model.encounter.options?.language || "en-GB" }, { signal });
    } catch (error) {
      if (error.name === "AbortError") return;
      say($("#note-state"), `The note could not be read: ${error.message}. It is kept; change it to try again.`);
      return;
    }
  }
  merge(reading);
  then();
}

export function bindNote() {
  const field = $("#note");
  field.value = model.note;
  field.addEventListener("input", () => { model.note = field.value; changed("note"); });
  return () => { draw(); showStages(); showReading(); };
}
