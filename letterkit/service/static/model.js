// The record while it is written: entries of the examination, whole stages, answers, and the fields around them.
//
// An entry is one finding (or one item not examined) with where it came from. Answers point at entries, not at positions,
// since positions move while entries come and go.

export const model = {
  encounter: {}, entries: [], normal: [], notExamined: [], answers: [], note: "", dismissed: [], stages: [],
  previous: null, replaces: null, demo: false,
};
export const catalogue = { items: new Map(), sites: {}, rows: {}, stages: [] };

let last = 0;
const listeners = [];

export const newEntry = (finding, more = {}) => ({ id: `e${(last += 1)}`, origin: "hand", finding, sure: true, reasons: [], quote: "", ...more });

export function load(body) {
  const { examination = {}, answers = [], ...encounter } = structuredClone(body.encounter);
  const marks = body.marks || [];
  model.encounter = encounter;
  model.entries = (examination.findings || []).map((finding, at) => newEntry(finding, marks[at] || {}));
  model.entries.forEach((entry, at) => { entry.id = `e${at + 1}`; });
  last = model.entries.length;
  model.normal = examination.normal || [];
  model.notExamined = (examination.notExamined || []).filter((each) => each.stage);
  for (const { item, side, site, reason } of (examination.notExamined || []).filter((each) => each.item)) {
    model.entries.push(newEntry({ item, side, site, note: reason }, { unexamined: true }));
  }
  model.answers = answers.map(({ findings = [], ...answer }) => ({ ...answer, entries: findings.map((at) => model.entries[at]?.id) }));
  for (const key of ["note", "dismissed", "stages", "previous", "replaces", "demo"]) model[key] = body[key];
}

export const findings = () => model.entries.filter((entry) => !entry.unexamined && given(entry.finding));

// Whether enough is said of an entry to send it; an item just chosen has no value yet.
export const given = (finding) => finding.value !== undefined && finding.value !== null && finding.value !== "";

const clean = (finding) => Object.fromEntries(Object.entries(finding).filter(([, value]) => value !== undefined && value !== null && value !== ""));

export function assembled() {
  const listed = findings();
  const at = new Map(listed.map((entry, index) => [entry.id, index]));
  const examination = { findings: listed.map((entry) => clean(entry.finding)) };
  if (model.normal.length) examination.normal = model.normal;
  const unexamined = model.entries.filter((entry) => entry.unexamined).map(({ finding: { item, side, site, note } }) => clean({ item, side, site, reason: note }));
  if (model.notExamined.length || unexamined.length) examination.notExamined = [...model.notExamined, ...unexamined];
  const encounter = { ...model.encounter, examination };
  const answers = model.answers
    .filter((answer) => answer.entries.every((id) => at.has(id)))
    .map(({ entries, ...answer }) => (entries.length ? { ...answer, findings: entries.map((id) => at.get(id)) } : answer));
  if (answers.length) encounter.answers = answers;
  return encounter;
}

export function body() {
  const { note, dismissed, stages, previous, replaces, demo } = model;
  const marks = findings().map(({ origin, key, sure, reasons, quote, seen }) => clean({ origin, key, sure, reasons, quote, seen }));
  return { encounter: assembled(), marks, note, dismissed, stages, previous, replaces, demo };
}

export const entryAt = (position) => findings()[position];
export const entryOf = (id) => model.entries.find((entry) => entry.id === id);

export function onChange(listener) { listeners.push(listener); }
export function changed(what = "entries") { for (const listener of listeners) listener(what); }

// What an entry says, in a few words.
export function words({ finding, unexamined }) {
  const item = catalogue.items.get(finding.item);
  const name = item ? item.name : finding.item;
  const side = finding.side ? (finding.side === "both" ? "both sides" : finding.side) : "";
  const where = [placeWords(finding.site, item), side].filter(Boolean).join(", ");
  return `${name}${where ? `, ${where}` : ""}: ${unexamined ? "not examined" : valueWords(finding.value, item)}`;
}

export function placeWords(site, item) {
  if (!site || (item && item.sites && item.sites.length === 1)) return "";
  const list = Array.isArray(site) ? site : [site];
  return list.map((slug) => catalogue.sites[slug]?.name || slug).join(", ");
}

export function valueWords(value, item) {
  if (value === undefined || value === null || value === "") return "no value yet";
  if (Array.isArray(value)) return value.join(", ");
  if (typeof value === "object") return "from" in value ? `${value.from} to ${value.to} degrees` : `${value.comparator || ""}${value.value} ${value.unit || ""}`;
  const choice = item?.choices?.find(([slug]) => slug === String(value));
  return choice ? choice[1] : `${value}${item?.unit ? ` ${item.unit}` : ""}`;
}
