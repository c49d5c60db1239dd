// Small helpers for building pieces of the page without markup in strings.

export const $ = (selector, root = document) => root.querySelector(selector);
export const $$ = (selector, root = document) => [...root.querySelectorAll(selector)];

export function make(tag, attributes = {}, ...children) {
  const found = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) found.addEventListener(name.slice(2), value);
    else if (name === "class") found.className = value;
    else if (name === "value") found.value = value;
    else found.setAttribute(name, value === true ? "" : value);
  }
  found.append(...children.flat().filter((child) => child !== null && child !== undefined && child !== false));
  return found;
}

// Calls `run` once the calls have paused for that many milliseconds; `flush` does not wait.
export function paused(run, milliseconds) {
  let timer = 0;
  const later = (...given) => {
    clearTimeout(timer);
    timer = setTimeout(() => { timer = 0; run(...given); }, milliseconds);
  };
  later.flush = () => { if (timer) { clearTimeout(timer); timer = 0; run(); } };
  later.waiting = () => timer !== 0;
  return later;
}

// A status message is written only when it changes, so that it is announced once.
export function say(node, words) {
  if (node.textContent !== words) node.textContent = words;
}

export function plural(count, one, many) {
  return count === 1 ? `1 ${one}` : `${count} ${many}`;
}

// Opens every closed part around a node, then brings it into view and gives it the focus.
export function reach(node) {
  for (let part = node.closest("details"); part; part = part.parentElement.closest("details")) part.open = true;
  node.scrollIntoView({ block: "center", behavior: "auto" });
  node.focus({ preventScroll: true });
}

export async function send(method, path, body, more = {}) {
  const answer = await fetch(path, {
    method, body: JSON.stringify(body), headers: { "Content-Type": "application/json", Accept: "application/json" }, ...more,
  });
  // An answer that is let go of before its end, as the next letter is typed, is an error and no empty answer.
  const told = await answer.json().catch((error) => { if (answer.ok) throw error; return {}; });
  if (!answer.ok) throw Object.assign(new Error(told.detail || told.title || "The service did not answer"), { status: answer.status, told });
  return told;
}
