// The drawing as an input: choose a joint or area, then what is to be recorded there.

import { $, $$, make, reach } from "./dom.js";
import { choose, itemOf } from "./examination.js";
import { catalogue, findings, model, words } from "./model.js";

let chosen = null;

function at(site) {
  const { digit, name } = catalogue.sites[site];
  const items = [...catalogue.items.values()];
  const here = items.filter((item) => item.sites?.includes(site));
  const around = digit && digit !== site ? items.filter((item) => item.sites?.includes(digit) && !here.includes(item)) : [];
  const named = items.filter((item) => !item.sites && item.words.some((word) => word.includes(name.toLowerCase())));
  return { here: [...named, ...here].sort((a, b) => b.weight - a.weight), around: around.sort((a, b) => b.weight - a.weight) };
}

function listOf(items, site, side, title) {
  if (!items.length) return null;
  return make("div", { class: "all-items" }, make("h5", {}, title), items.map((item) => make("button", { type: "button", class: "quiet small", onclick: () => choose(item.slug, item.sites?.includes(site) ? site : catalogue.sites[site].digit, side) }, item.name)));
}

function show(site, side) {
  chosen = { site, side };
  const { name, digit } = catalogue.sites[site];
  const { here, around } = at(site);
  const there = model.entries.filter((entry) => isAt(entry, site, side));
  const field = make("input", { id: "here-find", autocomplete: "off", oninput: () => {
    const typed = field.value.toLowerCase();
    for (const button of $$("#here .all-items button")) button.hidden = !button.textContent.toLowerCase().includes(typed);
  } });
  $("#here").replaceChildren(...[
    make("h4", {}, `${name[0].toUpperCase()}${name.slice(1)}, ${side}`),
    there.length ? make("ul", {}, there.map((entry) => make("li", {}, words(entry)))) : make("p", { class: "hint" }, "Nothing is recorded here yet."),
    make("label", { class: "narrowing" }, "Narrow the list", field),
    listOf(here, site, side, "Record here"),
    digit ? listOf(around, site, side, `Record of the ${catalogue.sites[digit]?.name || digit}`) : null,
  ].filter(Boolean));
  for (const target of $$(".target")) target.classList.toggle("chosen", target.dataset.site === site && target.closest("svg").dataset.side === side);
  $("#place").value = site;
  $("#place-side").value = side;
}

const isAt = ({ finding }, site, side) => [].concat(finding.site || itemOf(finding.item)?.sites?.[0] || []).includes(site) && (finding.side === side || finding.side === "both");

export function markHands() {
  const recorded = findings();
  for (const target of $$(".target")) {
    const side = target.closest("svg").dataset.side;
    const mine = recorded.filter((entry) => isAt(entry, target.dataset.site, side));
    target.classList.toggle("has", mine.length > 0);
    $("text", target).textContent = mine.length || "";
    const name = catalogue.sites[target.dataset.site].name;
    target.setAttribute("aria-label", `${name}, ${side}${mine.length ? `: ${mine.map(words).join("; ")}` : ""}`);
  }
  if (chosen && $("#part-drawing").open && !$("#here").contains(document.activeElement)) show(chosen.site, chosen.side);
}

// The nearest target in the direction of the key.
function next(from, key) {
  const [x, y] = [Number(from.dataset.x), Number(from.dataset.y)];
  const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  const [dx, dy] = ways[key];
  let best = null;
  for (const each of $$(".target", from.closest("svg"))) {
    const [ex, ey] = [Number(each.dataset.x) - x, Number(each.dataset.y) - y];
    const along = ex * dx + ey * dy;
    const aside = Math.abs(ex * dy) + Math.abs(ey * dx);
    if (along > 0.5 && (best === null || along + 2 * aside < best.far)) best = { each, far: along + 2 * aside };
  }
  return best?.each;
}

export function bindHands() {
  for (const radio of $$("[name=view]")) {
    radio.addEventListener("change", () => { for (const figure of $$("#hands figure")) figure.hidden = figure.dataset.view !== radio.value; });
  }
  for (const target of $$(".target")) {
    const side = target.closest("svg").dataset.side;
    const open = () => { show(target.dataset.site, side); };
    target.addEventListener("click", open);
    target.addEventListener("keydown", (event) => {
      if (event.key === "Enter" || event.key === " ") { open(); const first = $("#here-find"); if (first) reach(first); }
      else if (event.key.startsWith("Arrow")) {
        const found = next(target, event.key);
        if (found) { target.tabIndex = -1; found.tabIndex = 0; found.focus(); }
      } else return;
      event.preventDefault();
    });
  }
  const place = $("#place");
  place.append(make("option", { value: "" }, "choose a place"), ...Object.entries(catalogue.sites).map(([slug, { name }]) => make("option", { value: slug }, name)));
  for (const field of [place, $("#place-side")]) field.addEventListener("change", () => { if (place.value) show(place.value, $("#place-side").value); });
}
