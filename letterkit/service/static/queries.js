// The queries: each takes to its field, or is answered where it stands.

import { $, make, plural, reach, say } from "./dom.js";
import { slotOf } from "./examination.js";
import { fieldOf } from "./fields.js";
import { changed, entryOf, model, words } from "./model.js";

const MEANS = {
  urgent: "read again before the letter goes", impossible: "cannot be true as recorded", contradictory: "one of two entries is probably wrong",
  unusual: "possible; often innocent", incomplete: "a reader would look for more",
};
let correcting = []; // queries somebody went to correct: once they are gone, the record says so
let drawn = "";

const idOf = (query, ids) => `${query.rule} ${ids.join(" ")}`;

function target(query, ids) {
  if (ids.length) return slotOf(ids[0]);
  const place = query.places.map((each) => /^answers/.test(each) ? null : fieldOf(each)).find(Boolean);
  return place || $("#find");
}

function keep(query, ids, field) {
  const reason = field.value.trim();
  if (!reason) { field.setAttribute("aria-invalid", "true"); field.focus(); return; }
  const answer = { rule: query.rule, answer: "kept", reason, entries: ids };
  const by = JSON.parse($("#work").textContent).viewer || model.encounter.author?.name;
  if (by) answer.by = by;
  model.answers = model.answers.filter((each) => each.rule !== query.rule || each.entries.join() !== ids.join());
  model.answers.push(answer);
  changed("answers");
  say($("#query-state"), "Kept as it is, with the reason.");
  $("#queries-title").setAttribute("tabindex", "-1");
  $("#queries-title").focus();
}

function entry(query, ids, index) {
  const reason = make("input", { maxlength: 400, id: `reason-${index}`, "aria-describedby": `query-${index}` });
  const form = make("form", { class: "keep", onsubmit: (event) => { event.preventDefault(); keep(query, ids, reason); } },
    make("label", { for: `reason-${index}` }, "Keep it as it is, because"), make("div", { class: "joined" }, reason, make("button", {}, "Keep")));
  return make("li", { class: `query is-${query.class}` },
    make("p", { class: "class" }, `${query.class}: ${MEANS[query.class]}${query.blocks ? " · stands before approval" : ""}`),
    make("p", { id: `query-${index}` }, query.message),
    make("p", { class: "hint" }, query.settle),
    make("p", {}, make("button", { type: "button", class: "small", "aria-describedby": `query-${index}`, onclick: () => { correcting.push({ id: idOf(query, ids), rule: query.rule }); const node = target(query, ids); if (node) reach(node); } }, "Go to the entry")),
    query.rule === "answer-without-query" ? make("button", { type: "button", class: "small", onclick: () => { const at = /answers\[(\d+)\]/.exec(query.places[0]); if (at) model.answers.splice(Number(at[1]), 1); changed("answers"); } }, "Take the answer back") : form);
}

function doubts() {
  const doubtful = model.entries.filter((each) => each.origin === "note" && !each.sure && !each.seen);
  $("#doubts").replaceChildren(...doubtful.map((each) => make("div", { class: "query is-doubt" },
    make("p", { class: "class" }, "? read with doubt"),
    make("p", {}, words(each)),
    make("p", { class: "hint" }, `“${each.quote}”${each.reasons.length ? `: ${each.reasons.join("; ")}` : ""}`),
    make("p", {}, make("button", { type: "button", class: "small", onclick: () => { each.seen = true; changed("seen"); } }, "It is right"), " ",
      make("button", { type: "button", class: "small", onclick: () => { const slot = slotOf(each.id); if (slot) reach(slot); } }, "Go to the entry")))));
  return doubtful.length;
}

export function showQueries(queries, idAt) {
  const pairs = queries.map((query) => [query, query.findings.map(idAt)]);
  const now = new Set(pairs.map(([query, ids]) => idOf(query, ids)));
  for (const { id, rule } of correcting.filter((each) => !now.has(each.id))) {
    const [, ...ids] = id.split(" ");
    if (ids.every((each) => !each || entryOf(each)) && !model.answers.some((each) => each.rule === rule && each.answer === "corrected")) {
      model.answers.push({ rule, answer: "corrected", entries: [] });
    }
  }
  correcting = correcting.filter((each) => now.has(each.id));
  const doubtful = doubts();
  // Drawn anew only when something changed, so that an answer being written is not lost.
  const key = JSON.stringify(pairs);
  if (key !== drawn) {
    drawn = key;
    $("#query-list").replaceChildren(...pairs.map(([query, ids], index) => entry(query, ids, index)));
  }
  say($("#query-state"), queries.length || doubtful ? `${plural(queries.length, "query is", "queries are")} open${doubtful ? `, ${plural(doubtful, "reading", "readings")} in doubt` : ""}.` : "No query is open.");
}
