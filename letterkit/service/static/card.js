// The card of one item at one place: both sides at once, values with units, and what else may be said.

import { make } from "./dom.js";
import { catalogue, changed, given, model, newEntry, placeWords } from "./model.js";

const UNEXAMINED = "not examined";

// An entry that is changed by hand is no longer the note's: the note's own reading of it is set aside for good.
function takeOver(entry) {
  if (entry.origin !== "note") return;
  model.dismissed.push(entry.key);
  Object.assign(entry, { origin: "hand", sure: true, key: undefined });
}

export class Card {
  constructor(item, site, mode, rerender) {
    Object.assign(this, { item, site, mode, rerender, slots: {} });
    this.sides = item.paired ? ["right", "left"] : ["none"];
  }

  free(side) { return this.wanted(side).every((each) => !this.slots[each]); }

  wanted(side) { return side === "both" ? this.sides : [this.item.paired && side ? side : this.sides[0]]; }

  hold(entry) {
    const sides = entry.finding.side || !this.item.paired ? this.wanted(entry.finding.side) : ["unsided"];
    if (sides[0] === "unsided" && !this.sides.includes("unsided")) this.sides.push("unsided");
    for (const side of sides) this.slots[side] = entry;
  }

  entries() { return [...new Set(Object.values(this.slots))]; }

  // Gives the entry of one side alone, parted from the other where one entry spoke of both.
  alone(side) {
    const entry = this.slots[side];
    if (entry && entry.finding.side === "both" && this.sides.length > 1) {
      const other = side === "right" ? "left" : "right";
      takeOver(entry);
      entry.finding.side = other;
      const own = newEntry({ ...structuredClone(entry.finding), side }, { unexamined: entry.unexamined });
      model.entries.splice(model.entries.indexOf(entry) + 1, 0, own);
      this.slots[side] = own;
      this.slots[other] = entry;
      return own;
    }
    if (entry) { takeOver(entry); return entry; }
    const finding = { item: this.item.slug };
    if (this.item.paired) finding.side = side;
    if (this.site) finding.site = structuredClone(this.site);
    if (this.mode) finding.mode = this.mode;
    const made = newEntry(finding);
    model.entries.push(made);
    this.slots[side] = made;
    return made;
  }

  set(side, value) {
    const entry = this.alone(side);
    entry.unexamined = value === UNEXAMINED || undefined;
    if (value === UNEXAMINED || value === "") delete entry.finding.value;
    else entry.finding.value = value;
    this.mark();
    changed();
  }

  settle(side, chosen) {
    if (chosen === "unsided") return;
    const entry = this.slots[side];
    takeOver(entry);
    entry.finding.side = chosen;
    changed();
    this.rerender(entry.id);
  }

  remove() {
    for (const entry of this.entries()) takeOver(entry);
    const gone = new Set(this.entries());
    model.entries = model.entries.filter((entry) => !gone.has(entry));
    changed();
    this.rerender();
  }

  move(site) {
    this.site = site;
    for (const entry of this.entries()) {
      takeOver(entry);
      if (site) entry.finding.site = site;
      else delete entry.finding.site;
    }
    changed();
  }

  mark() {
    for (const side of this.sides) {
      const entry = this.slots[side];
      const node = this.nodes?.[side];
      if (!node) continue;
      if (entry) node.dataset.entry = entry.id;
      const value = entry && !entry.unexamined ? String(entry.finding.value ?? "") : "";
      const odd = this.item.choices && value && value !== this.item.normal && value !== "equivocal";
      node.classList.toggle("departs", Boolean(odd));
      node.classList.toggle("doubt", Boolean(entry && !entry.sure && !entry.seen));
      node.classList.toggle("filled", Boolean(entry && (entry.unexamined || given(entry.finding))));
    }
  }

  node() {
    const { item } = this;
    this.nodes = {};
    const single = item.sites && item.sites.length === 1;
    const name = make("legend", {}, item.name, this.mode ? ` (${this.mode})` : "");
    const slots = this.sides.map((side) => { this.nodes[side] = this.slot(side); return this.nodes[side]; });
    const tools = make("div", { class: "card-tools" },
      item.sites && !single ? this.place() : null,
      item.normal && item.paired && !this.entries().length ? make("button", { type: "button", class: "quiet small", onclick: () => this.bothNormal() }, `Both: ${item.choices.find(([slug]) => slug === item.normal)[1]}`) : null,
      item.more ? this.more() : null,
      make("button", { type: "button", class: "quiet small remove", onclick: () => this.remove() }, "Remove", make("span", { class: "hidden" }, ` ${item.name}`)));
    const found = make("fieldset", { class: "item", "data-item": item.slug }, name, make("div", { class: `slots of-${slots.length}` }, slots), make("p", { class: "item-fault", role: "status" }), tools);
    this.mark();
    return found;
  }

  bothNormal() {
    for (const side of this.sides) { const entry = this.alone(side); entry.finding.value = this.item.normal; delete entry.unexamined; }
    changed();
    this.rerender(this.slots[this.sides[0]].id);
  }

  slot(side) {
    const entry = this.slots[side];
    const words = { right: "Right", left: "Left", none: "Value", unsided: "Side not said" }[side];
    const named = `${this.item.name}${this.site ? `, ${placeWords(this.site, this.item)}` : ""}, ${words.toLowerCase()}`;
    const control = this.control(side, entry, named);
    const settle = side === "unsided" && this.item.paired
      ? make("select", { "aria-label": `Side of ${named}`, onchange: (event) => this.settle(side, event.target.value) }, ["unsided", "right", "left", "both"].map((each) => make("option", { value: each }, each === "unsided" ? "choose the side" : each)))
      : null;
    return make("div", { class: "slot", "data-side": side }, make("span", { class: "slot-name", "aria-hidden": "true" }, words), control, settle);
  }

  control(side, entry, named) {
    const { item } = this;
    const value = entry?.unexamined ? UNEXAMINED : entry?.finding.value;
    if (item.choices) {
      const choices = [["", "not recorded"], ...item.choices, [UNEXAMINED, UNEXAMINED]];
      const now = value === undefined || value === null ? "" : String(value);
      if (!choices.some(([slug]) => slug === now)) choices.push([now, now]);
      const found = make("select", { class: "value", "aria-label": named, onchange: (event) => this.set(side, event.target.value) },
        choices.map(([slug, words]) => make("option", { value: slug }, words)));
      found.value = now;
      return found;
    }
    if (item.kind === "arc") return this.arc(side, value, named);
    const shown = Array.isArray(value) ? value.join(", ") : typeof value === "object" && value ? `${value.comparator || ""}${value.value}` : value ?? "";
    const unit = item.unit ? make("span", { class: "unit", "aria-hidden": "true" }, item.unit) : null;
    const field = make("input", {
      class: "value", "aria-label": `${named}${item.unit ? `, in ${item.unit}` : ""}`, inputmode: item.kind === "quantity" ? "decimal" : null, value: shown,
      oninput: (event) => this.set(side, item.kind === "quantity" ? number(event.target.value) : event.target.value.trim()),
    });
    return make("span", { class: "measured" }, field, unit);
  }

  arc(side, value, named) {
    const [from, to] = Array.isArray(value) ? value : [value?.from, value?.to];
    const fields = [["from", from], ["to", to]].map(([part, shown]) => make("input", {
      class: "value", inputmode: "numeric", "aria-label": `${named}, ${part}, in degrees`, value: shown ?? "",
      oninput: () => {
        const [low, high] = fields.map((field) => number(field.value));
        this.set(side, low === "" || high === "" ? "" : { from: low, to: high });
      },
    }));
    return make("span", { class: "measured" }, fields[0], make("span", { "aria-hidden": "true" }, "to"), fields[1], make("span", { class: "unit", "aria-hidden": "true" }, "°"));
  }

  place() {
    const { item } = this;
    const now = JSON.stringify(this.site ?? "");
    const rows = new Map();
    for (const slug of item.sites) {
      const row = catalogue.sites[slug].row;
      rows.set(row, [...(rows.get(row) || []), slug]);
    }
    const options = [make("option", { value: '""' }, "choose the place")];
    for (const [row, slugs] of rows) {
      if (row && slugs.length > 1) options.push(make("option", { value: JSON.stringify(slugs) }, `all ${catalogue.rows[row]}`));
      for (const slug of slugs) options.push(make("option", { value: JSON.stringify(slug) }, catalogue.sites[slug].name));
    }
    if (!options.some((option) => option.value === now)) options.push(make("option", { value: now }, placeWords(this.site, item)));
    const found = make("select", { "aria-label": `Place of ${item.name}`, onchange: (event) => this.move(JSON.parse(event.target.value)) }, options);
    found.value = now;
    return found;
  }

  // Details are built when they are opened: most findings have none.
  more() {
    const inside = make("div", { class: "more" });
    const held = this.entries().some(({ finding }) => [...this.item.more, ["note"]].some(([key]) => key !== "mode" && finding[key] !== undefined));
    const build = () => {
      inside.replaceChildren(...this.sides.filter((side) => this.slots[side]).map((side) => make("div", { class: "more-side" },
        make("p", {}, { right: "Right", left: "Left" }[side] || "Details"),
        [...this.item.more, ["note", "Note"]].map((each) => this.qualifier(side, each)))));
      if (!inside.children.length) inside.replaceChildren(make("p", { class: "hint" }, "Record a value first."));
    };
    const found = make("details", { class: "more-of", ontoggle: () => found.open && build() }, make("summary", {}, held ? "Details ●" : "Details", make("span", { class: "hidden" }, ` of ${this.item.name}`)), inside);
    return found;
  }

  qualifier(side, [key, label]) {
    const choices = { severity: ["mild", "moderate", "severe"], correctability: ["correctable", "fixed"], mode: ["active", "passive"] }[key];
    const value = this.slots[side].finding[key] ?? "";
    const numeric = ["onsetS", "count", "sizeMm", "lengthCm", "angleDeg"].includes(key);
    const put = (event) => {
      const { finding } = this.alone(side);
      const given = numeric ? number(event.target.value) : event.target.value.trim();
      if (given === "") delete finding[key];
      else finding[key] = given;
      changed();
    };
    const field = choices
      ? make("select", { onchange: put }, ["", ...choices].map((each) => make("option", { value: each }, each || "not recorded")))
      : make("input", { oninput: put, inputmode: numeric ? "decimal" : null });
    field.value = value;
    return make("label", {}, label, field);
  }
}

// A number as a number, several readings as a list, anything else as it was written: the service says what is wrong.
export function number(text) {
  const parts = text.split(/[,;]\s*|\s+/).filter(Boolean);
  const read = parts.map((part) => (/^-?\d+(\.\d+)?$/.test(part) ? Number(part) : null));
  if (!parts.length) return "";
  if (read.some((each) => each === null)) return text.trim();
  return read.length === 1 ? read[0] : read;
}
