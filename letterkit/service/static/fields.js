// The fields around the examination: each is bound to its place in the record and keeps what it does not show.

import { $, $$ } from "./dom.js";
import { changed, model } from "./model.js";

const NHS = "https://fhir.nhs.uk/Id/nhs-number";
const lines = (text) => text.split("\n").map((line) => line.trim()).filter(Boolean);
const isNhs = (each) => each.system === NHS || (each.system || "").replaceAll(" ", "").toLowerCase() === "nhsnumber";

function get(path) {
  return path.split(".").reduce((here, step) => here?.[step], model.encounter);
}

function put(path, value) {
  const steps = path.split(".");
  const leaf = steps.pop();
  const trail = [model.encounter];
  for (const step of steps) {
    const here = trail.at(-1);
    here[step] = here[step] && typeof here[step] === "object" ? here[step] : {};
    trail.push(here[step]);
  }
  if (value === undefined || value === "" || (Array.isArray(value) && !value.length)) delete trail.at(-1)[leaf];
  else trail.at(-1)[leaf] = value;
  // A part that holds nothing any more is left out of the record.
  for (let at = trail.length - 1; at > 0; at -= 1) if (!Object.keys(trail[at]).length) delete trail[at - 1][steps[at - 1]];
}

// Lines keep what else is known of them (side, role, address) as long as their words stay the same.
const kept = (before, key, text, more = {}) => lines(text).map((words) => (before || []).find((each) => each[key] === words) || { [key]: words, ...more });

const KINDS = {
  line: { show: (value) => value ?? "", read: (text) => text.trim() },
  text: { show: (value) => value ?? "", read: (text) => text.trim() },
  date: { show: (value) => value ?? "", read: (text) => text },
  words: { show: (value) => (value || []).join(" "), read: (text) => text.split(/\s+/).filter(Boolean) },
  lines: { show: (value) => (value || []).join("\n"), read: lines },
  flag: { show: (value) => value === true, read: (value) => value || undefined },
  nhs: {
    show: (value) => (value || []).find(isNhs)?.value || "",
    read: (text, before = []) => [...(text.trim() ? [{ system: NHS, value: text.trim() }] : []), ...before.filter((each) => !isNhs(each))],
  },
  address: {
    show: (value) => (value ? [...(value.line || []), value.city, value.district, value.postalCode, value.country].filter(Boolean).join("\n") : ""),
    read: (text) => (lines(text).length ? { line: lines(text) } : undefined),
  },
  recipients: { show: (value) => (value || []).map((each) => each.name).join("\n"), read: (text, before) => kept(before, "name", text) },
  statements: { show: (value) => (value || []).map((each) => each.text).join("\n"), read: (text, before) => kept(before, "text", text) },
  allergies: {
    show: (value) => (typeof value === "string" ? value : (value || []).map(({ agent, reaction }) => (reaction ? `${agent}: ${reaction}` : agent)).join("\n")),
    read: (text) => {
      if (/^\s*(none known|nkda|nil known|no known allergies)\.?\s*$/i.test(text)) return "none known";
      return lines(text).map((line) => {
        const [agent, ...rest] = line.split(":");
        const reaction = rest.join(":").trim();
        return { agent: agent.trim() || line, ...(reaction ? { reaction } : {}) };
      });
    },
  },
};

function planOf(actor) { return (model.encounter.plan || []).filter((each) => (each.actor || "clinic") === actor); }

function showField(field) {
  const { path, kind } = field.dataset;
  if (kind === "actions") { field.value = planOf(path.split(".")[1]).map((each) => each.text).join("\n"); return; }
  const shown = KINDS[kind].show(get(path));
  if (kind === "flag") field.checked = shown;
  else field.value = shown;
}

function readField(field) {
  const { path, kind } = field.dataset;
  if (kind === "actions") {
    const actor = path.split(".")[1];
    const rest = (model.encounter.plan || []).filter((each) => (each.actor || "clinic") !== actor);
    put("plan", [...rest, ...kept(planOf(actor), "text", field.value, { actor })]);
    return;
  }
  put(path, KINDS[kind].read(kind === "flag" ? field.checked : field.value, get(path)));
}

export function briefs() {
  const { patient = {}, visit = {}, reason = {}, history = {}, diagnoses = [], plan = [] } = model.encounter;
  const name = patient.name || {};
  const who = [...(name.prefix || []), ...(name.given || []), name.family].filter(Boolean).join(" ") || name.text || "name not given";
  $("#brief-people").textContent = [who, visit.date].filter(Boolean).join(" · ");
  $("#brief-reason").textContent = reason.text || history.presenting || "nothing yet";
  const count = plan.length ? `plan of ${plan.length}` : "";
  $("#brief-words").textContent = [diagnoses[0]?.text, count].filter(Boolean).join(" · ") || "diagnoses, impression, plan";
}

export function fill() {
  for (const field of $$("[data-path]")) showField(field);
  briefs();
}

export function bind() {
  for (const field of $$("[data-path]")) {
    field.addEventListener(field.matches("select, [type=checkbox], [type=date]") ? "change" : "input", () => {
      readField(field);
      briefs();
      changed("fields");
    });
  }
}

// The field of a place of the record, such as `plan[0]` or `patient.name.family`.
export function fieldOf(place) {
  const plan = /^plan\[(\d+)\]/.exec(place);
  if (plan) return $(`[data-path="plan.${(model.encounter.plan || [])[plan[1]]?.actor || "clinic"}"]`);
  const path = place.replace(/\[\d+\]/g, "");
  for (let steps = path.split("."); steps.length; steps = steps.slice(0, -1)) {
    const found = $(`[data-path="${steps.join(".")}"]`);
    if (found) return found;
  }
  return path && path !== "examination" ? $(`[data-path^="${path.split(".")[0]}."]`) : null;
}

// Puts what is wrong beside its field; where it has none, the list above the letter still tells it.
export function faults(problems) {
  for (const field of $$("[data-path][aria-invalid]")) field.removeAttribute("aria-invalid");
  const told = new Map();
  for (const { path, message } of problems) {
    const field = path.startsWith("examination") ? null : fieldOf(path);
    if (!field) continue;
    told.set(field.dataset.path, message);
    field.setAttribute("aria-invalid", "true");
  }
  for (const node of $$("[data-fault]")) {
    const words = told.get(node.dataset.fault) || "";
    if (node.textContent !== words) node.textContent = words;
  }
}
