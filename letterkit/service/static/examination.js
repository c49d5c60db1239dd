// The examination by stage: search by any name, cards of what is recorded, whole stages, and all items to choose from.

import { $, $$, make, reach } from "./dom.js";
import { catalogue, changed, model } from "./model.js";
import { Card } from "./card.js";

const SHOWN = 12;
let pending = []; // items chosen and not recorded yet

export async function fetchCatalogue() {
  const answer = await fetch("/compose/examination.json");
  const { items, ...rest } = await answer.json();
  Object.assign(catalogue, rest);
  catalogue.items = new Map(items.map((item) => [item.slug, item]));
  for (const item of items) {
    item.words = [item.name, ...item.terms].map((term) => term.toLowerCase());
    for (const word of item.words) if (!terms.has(word)) terms.set(word, item.slug);
  }
}

const terms = new Map();
export const itemOf = (term) => catalogue.items.get(term) || catalogue.items.get(terms.get(String(term).toLowerCase()));

// Items whose name or synonym holds all that was typed; names that begin with it come first, then the weightier.
export function search(text) {
  const typed = text.toLowerCase().split(/\s+/).filter(Boolean);
  if (!typed.length) return [];
  const found = [];
  for (const item of catalogue.items.values()) {
    let best = 0;
    for (const word of item.words) {
      if (!typed.every((part) => word.includes(part))) continue;
      const score = (word === typed.join(" ") ? 8 : word.startsWith(typed[0]) ? 4 : word.includes(` ${typed[0]}`) ? 2 : 1);
      if (score > best) [best, item.via] = [score, word];
    }
    if (best) found.push([best * 10 + item.weight, item]);
  }
  return found.sort((a, b) => b[0] - a[0]).slice(0, SHOWN).map(([, item]) => item);
}

export function cards() {
  const made = [];
  for (const entry of model.entries) {
    const item = itemOf(entry.finding.item);
    if (!item) continue;
    entry.finding.item = item.slug;
    const place = JSON.stringify(entry.finding.site ?? "");
    let card = made.find((each) => each.item === item && JSON.stringify(each.site ?? "") === place && each.mode === entry.finding.mode && each.free(entry.finding.side));
    if (!card) made.push(card = new Card(item, entry.finding.site, entry.finding.mode, draw));
    card.hold(entry);
  }
  pending = pending.filter(({ item, site }) => !made.some((card) => card.item.slug === item && (!site || card.site === site)));
  for (const { item, site } of pending) made.push(new Card(catalogue.items.get(item), site, undefined, draw));
  return made;
}

// Draws all cards anew; the focus goes back to the control it was on, or to that of an entry.
export function draw(focusOn) {
  const active = document.activeElement;
  const label = active?.closest?.("#stages") ? active.getAttribute("aria-label") : null;
  const all = cards();
  for (const stage of $$("[data-cards]")) {
    const mine = all.filter((card) => card.item.stage === stage.dataset.cards);
    stage.replaceChildren(...mine.map((card) => card.node()));
  }
  const target = focusOn ? slotOf(focusOn) : label && $$("#stages [aria-label]").find((node) => node.getAttribute("aria-label") === label);
  if (target) target.focus({ preventScroll: true });
  else if (active && !active.isConnected) $("#find").focus();
}

export const slotOf = (id) => $(`[data-entry="${id}"] .value`);

export function choose(slug, site, side) {
  const item = catalogue.items.get(slug);
  const wanted = item.sites?.length === 1 ? undefined : site;
  const before = cards().find((card) => card.item === item && (!wanted || card.site === wanted));
  if (!before) pending.push({ item: slug, site: wanted });
  draw();
  const nodes = $$(`[data-item="${slug}"]`);
  const node = nodes.at(-1);
  const slot = (side && $(`[data-side="${side}"] .value`, node)) || $(".value", node);
  const place = $(".card-tools > select", node);
  reach(place && place.value === '""' ? place : slot);
}

export function showStages() {
  for (const select of $$("[data-whole]")) {
    const slug = select.dataset.whole;
    const normal = model.normal.filter((each) => each.stage === slug);
    const not = model.notExamined.filter((each) => each.stage === slug);
    let value = "";
    if (normal.length + not.length > 1) value = "as recorded";
    else if (normal.length) value = normal[0].side && normal[0].side !== "both" ? `normal ${normal[0].side}` : "normal";
    else if (not.length) value = "not examined";
    $("option[value='as recorded']", select)?.remove();
    if (value === "as recorded") select.append(make("option", { value }, "normal on one side, other not examined"));
    select.value = value;
    select.closest(".stage").classList.toggle("settled", Boolean(value));
  }
}

function setStage(slug, value) {
  for (const key of ["normal", "notExamined"]) {
    // What the note says of the stage is set aside for good.
    for (const each of model[key]) if (each.stage === slug) model.dismissed.push(JSON.stringify([key, each]));
    model[key] = model[key].filter((each) => each.stage !== slug);
  }
  const [what, side] = value.split(" ");
  if (what === "normal") model.normal.push(side ? { stage: slug, side } : { stage: slug });
  if (value === "not examined") model.notExamined.push({ stage: slug });
  changed();
}

function combobox() {
  const field = $("#find");
  const list = $("#found");
  let found = [];
  let at = -1;
  const close = () => { list.hidden = true; field.setAttribute("aria-expanded", "false"); field.removeAttribute("aria-activedescendant"); at = -1; };
  const point = (index) => {
    at = index;
    [...list.children].forEach((node, position) => node.setAttribute("aria-selected", String(position === at)));
    if (at >= 0) { field.setAttribute("aria-activedescendant", list.children[at].id); list.children[at].scrollIntoView({ block: "nearest" }); }
  };
  const pick = (item) => { field.value = ""; close(); choose(item.slug); };
  field.addEventListener("input", () => {
    found = search(field.value);
    list.replaceChildren(...found.map((item, index) => make("li", { role: "option", id: `found-${index}`, "aria-selected": "false", onpointerdown: (event) => { event.preventDefault(); pick(item); } },
      make("span", {}, item.name), item.via === item.name.toLowerCase() ? null : make("small", {}, item.via), make("em", {}, catalogue.stages.find((stage) => stage.slug === item.stage).name))));
    if (field.value.trim() && !found.length) list.replaceChildren(make("li", { role: "option", "aria-disabled": "true", "aria-selected": "false", id: "found-none" }, "No item has this name. Write it into the note, or into your own words."));
    list.hidden = !field.value.trim();
    field.setAttribute("aria-expanded", String(!list.hidden));
    if (found.length) point(0);
  });
  field.addEventListener("keydown", (event) => {
    if (event.key === "Escape") { close(); return; }
    if (list.hidden || !found.length) return;
    if (event.key === "ArrowDown") point((at + 1) % found.length);
    else if (event.key === "ArrowUp") point((at - 1 + found.length) % found.length);
    else if (event.key === "Enter" && at >= 0) pick(found[at]);
    else return;
    event.preventDefault();
  });
  field.addEventListener("blur", close);
}

export function bindExamination() {
  combobox();
  for (const select of $$("[data-whole]")) select.addEventListener("change", () => setStage(select.dataset.whole, select.value));
  for (const all of $$("[data-all]")) {
    all.addEventListener("toggle", () => {
      const inside = $(".all-items", all);
      if (!all.open || inside.children.length) return;
      const mine = [...catalogue.items.values()].filter((item) => item.stage === all.dataset.all);
      inside.append(...mine.map((item) => make("button", { type: "button", class: "quiet small", onclick: () => choose(item.slug) }, item.name)));
    });
  }
}

// Says beside a card what cannot be read of it.
export function cardFaults(problems, idAt) {
  for (const node of $$(".item-fault")) if (node.textContent) node.textContent = "";
  for (const { path, message } of problems) {
    const found = /^examination\.findings\[(\d+)\]/.exec(path);
    const slot = found && $(`[data-entry="${idAt(Number(found[1]))}"]`);
    if (slot) $(".item-fault", slot.closest(".item")).textContent = message;
  }
}
