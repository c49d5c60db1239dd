// The letter as it will read: asked for after a short pause, an older answer never shown over a newer one.

import { $, $$, make, paused, plural, reach, say, send } from "./dom.js";
import { cardFaults, slotOf } from "./examination.js";
import { faults, fieldOf } from "./fields.js";
import { assembled, entryAt, findings, model } from "./model.js";
import { showQueries } from "./queries.js";

const PAUSE = 30; // milliseconds without a key before the letter is asked for
let asked = null;
let shown = { facts: {}, stages: {} };
let listed = []; // the entries as they were when the letter shown was asked for

export const ask = paused(run, PAUSE);

export async function run() {
  asked?.abort();
  asked = new AbortController();
  const { signal } = asked;
  const encounter = assembled();
  const sent = findings().map((entry) => entry.id);
  try {
    const told = await send("POST", "/compose/preview", { encounter, previous: model.previous }, { signal });
    if (signal.aborted) return;
    listed = sent;
    show(told);
  } catch (error) {
    if (error.name === "AbortError") return;
    const why = error.status ? error.message : "the service does not answer; it is asked again with the next change";
    say($("#letter-state"), `The letter shown is not of the latest change: ${why}.`);
    $("#paper").classList.add("stale");
  }
}

function show(told) {
  shown = told;
  const paper = $("#paper");
  paper.classList.remove("stale");
  if (told.html !== null) paper.innerHTML = told.html; // of our own renderer, which escapes every word
  sentences(paper);
  const idAt = (position) => listed[position];
  faults(told.problems);
  cardFaults(told.problems, idAt);
  leftOut(told.problems, idAt);
  showQueries(told.queries, idAt);
  const open = told.queries.length;
  say($("#letter-state"), told.html === null ? "No letter yet." : `Up to date${told.problems.length ? `, without ${plural(told.problems.length, "entry that cannot be used", "entries that cannot be used")}` : ""}.`);
  $("#query-count").textContent = open ? `(${open})` : "";
  document.dispatchEvent(new CustomEvent("letter-shown"));
}

function leftOut(problems, idAt) {
  $("#left-out").replaceChildren(...(problems.length ? [make("div", { class: "fault" }, make("p", {}, make("strong", {}, "Not in the letter yet:")), make("ul", {}, problems.map(({ path, message }) => {
    const found = /^examination\.findings\[(\d+)\]/.exec(path);
    const target = () => (found ? slotOf(idAt(Number(found[1]))) : fieldOf(path));
    return make("li", {}, message, " ", make("button", { type: "button", class: "quiet small", onclick: () => { const node = target(); if (node) reach(node); } }, "Go there"));
  })))] : []));
}

// The entries a sentence states, and whole stages as the ids of their controls.
function behind(node) {
  const ids = node.dataset.facts.split(" ");
  return {
    entries: [...new Set(ids.flatMap((id) => shown.facts[id] || []).map((position) => listed[position]))],
    stages: [...new Set(ids.map((id) => shown.stages?.[id]).filter(Boolean))],
  };
}

function sentences(paper) {
  const spans = $$("span[data-facts]", paper);
  spans.forEach((span, index) => {
    span.setAttribute("role", "link");
    span.tabIndex = index ? -1 : 0;
  });
  // What can be pointed at carries its entries, so that an entry finds its sentence.
  for (const node of $$("[data-facts]", paper)) node.dataset.entries = behind(node).entries.join(" ");
}

function light(nodes, controls) {
  for (const node of $$(".lit")) node.classList.remove("lit");
  for (const node of nodes) node.classList.add("lit");
  for (const node of controls) node.classList.add("lit");
}

function lightOf(node) {
  const { entries, stages } = behind(node);
  const slots = entries.flatMap((id) => [...$$(`[data-entry="${id}"]`), ...$$(`[data-of="${id}"]`)]);
  light([node], [...slots, ...stages.map((id) => document.getElementById(id)?.closest(".whole")).filter(Boolean)]);
  return { entries, stages };
}

export function lightEntry(id) {
  const nodes = $$(`#paper [data-entries~="${id}"]`);
  light(nodes, $$(`[data-entry="${id}"]`));
  return nodes[0];
}

function go(node) {
  const { entries, stages } = lightOf(node);
  const target = (entries.length && slotOf(entries[0])) || document.getElementById(stages[0]);
  if (target) reach(target);
}

// Brings a sentence into view inside the letter, and nothing else of the page with it.
function within(node) {
  const paper = $("#paper");
  const [box, mine] = [paper.getBoundingClientRect(), node.getBoundingClientRect()];
  if (paper.scrollHeight <= paper.clientHeight) return;
  if (mine.top < box.top || mine.bottom > box.bottom) paper.scrollTop += mine.top - box.top - box.height / 3;
}

export function bindPreview() {
  const paper = $("#paper");
  const near = (event) => event.target.closest?.("[data-facts]");
  paper.addEventListener("pointerover", (event) => { const node = near(event); if (node) lightOf(node); });
  paper.addEventListener("pointerleave", () => light([], []));
  paper.addEventListener("focusin", (event) => { const node = near(event); if (node) lightOf(node); });
  paper.addEventListener("click", (event) => { const node = near(event); if (node && !String(getSelection())) go(node); });
  paper.addEventListener("keydown", (event) => {
    const all = $$("span[data-facts]", paper);
    const at = all.indexOf(document.activeElement);
    const step = { ArrowDown: 1, ArrowRight: 1, ArrowUp: -1, ArrowLeft: -1 }[event.key];
    if (step && all.length) {
      const next = all[Math.min(Math.max(at + step, 0), all.length - 1)];
      for (const each of all) each.tabIndex = each === next ? 0 : -1;
      next.focus();
    } else if (event.key === "Enter" && at >= 0) go(all[at]);
    else return;
    event.preventDefault();
  });
  const entryNear = (event) => event.target.closest?.("[data-entry]")?.dataset.entry || event.target.closest?.("[data-of]")?.dataset.of;
  for (const kind of ["pointerover", "focusin"]) {
    $("#recorded").addEventListener(kind, (event) => {
      const id = entryNear(event);
      const node = id && lightEntry(id);
      if (node) within(node);
      else if (!id) light([], []);
    });
  }
}

export const entryAtShown = (position) => listed[position] ?? entryAt(position)?.id;
