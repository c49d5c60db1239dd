// The lists of what a column can hold: filled when they are first wanted, with place, side and part where an item has them.

import { $, $$, make } from "./dom.js";

const known = await (await fetch("/sheets/known.json")).json();
const items = new Map(Object.values(known.items).flat().map((item) => [item.value, item]));

function choices() {
  const parts = document.createDocumentFragment();
  for (const [group, entries] of Object.entries(known.fields)) {
    parts.append(make("optgroup", { label: group }, entries.map(([value, words]) => make("option", { value }, words))));
  }
  for (const [group, entries] of Object.entries(known.items)) {
    parts.append(make("optgroup", { label: group }, entries.map((item) => make("option", { value: item.value }, item.name))));
  }
  return parts;
}

const template = choices();

function fill(select) {
  if (select.dataset.filled) return;
  select.dataset.filled = "yes";
  const now = select.value;
  select.append(template.cloneNode(true));
  select.value = now;
}

// The side that the column's own name ends or begins with, for an item that is chosen for it.
function sideOf(name) {
  const words = name.toLowerCase().split(/[\s_().,-]+/).filter(Boolean);
  for (const word of [words.at(-1), words[0]]) {
    if (["r", "rt", "right", "rhs"].includes(word)) return "right";
    if (["l", "lt", "left", "lhs"].includes(word)) return "left";
  }
  return "";
}

function offer(select, entries, wanted) {
  select.replaceChildren(...entries.map(([value, words]) => make("option", { value }, words)));
  select.value = entries.some(([value]) => value === wanted) ? wanted : entries[0]?.[0] ?? "";
  select.closest("label").hidden = entries.length < 2;
}

function parts(chooser, fresh) {
  const [, site, side, of] = $$("select", chooser);
  const item = items.get($(".holds", chooser).value);
  offer(site, item?.sites.length ? [["", "choose the place"], ...item.sites] : [], site.dataset.now);
  offer(side, item?.paired ? known.sides : [], fresh ? sideOf(chooser.dataset.name) : side.dataset.now);
  offer(of, item && item.of.length > 1 ? item.of : [], of.dataset.now);
}

for (const chooser of $$(".chooser")) {
  const holds = $(".holds", chooser);
  for (const kind of ["focus", "pointerdown"]) holds.addEventListener(kind, () => fill(holds), { once: true });
  holds.addEventListener("change", () => parts(chooser, true));
  parts(chooser, false);
}
document.documentElement.dataset.ready = "yes";
$("#trouble")?.focus();
if (location.hash === "#kept") $("#kept").focus();
