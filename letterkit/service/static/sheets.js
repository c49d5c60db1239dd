// Takes a dropped sheet, follows a run, and brings the focus to a row that is corrected or was.

import { $, say } from "./dom.js";

const LOOK = 700;
const LOOK_AGAIN = 300;
const run = $("[data-run]")?.dataset.run;
const files = $("#files");
const state = $("#state") || $("#files-state");
let seen = "";
let sending = false; // a page that loads itself again would stop what is being sent

// The rows are there already, and may be worked on: of the page made anew only what can be had is taken.
async function filesAgain() {
  const answer = await fetch(location.pathname, { headers: { Accept: "text/html" } });
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const made = $("#files", page);
  if (!made) { setTimeout(follow, LOOK_AGAIN); return; }
  files.replaceChildren(...made.childNodes);
  say(state, "The archive and the print run are written again.");
}

async function follow() {
  if (sending) return;
  try {
    const answer = await fetch(`/v1/bulk-runs/${run}`, { headers: { Accept: "application/json" } });
    if (answer.status === 401) { say(state, "Your session is over. Sign in again; the run goes on."); return; }
    const told = await answer.json();
    if (sending) return;
    if (told.state === "failed" && $("#row-form")) { say(state, "The print run could not be written. Close the row to see why."); return; }
    if (told.state === "failed" || (told.state === "done" && !files)) { location.reload(); return; }
    if (told.state === "done") { await filesAgain(); return; }
    if (files) { setTimeout(follow, LOOK_AGAIN); return; }
    if (told.state === "drafting") {
      $("#far").max = told.letters || 1;
      $("#far").value = told.letters - told.waiting;
      // Spoken at each tenth, not at each look.
      const tenth = `${Math.floor((10 * (told.letters - told.waiting)) / (told.letters || 1))} ${told.refused}`;
      if (tenth !== seen) say(state, `${told.letters - told.waiting} of ${told.letters} letters made; ${told.queried} with queries, ${told.refused} refused.`);
      seen = tenth;
    }
  } catch { say(state, "The service does not answer; the run goes on, and this page looks again."); }
  setTimeout(follow, LOOK);
}

function giving(form) {
  const field = $("input[type=file]", form);
  for (const kind of ["dragover", "dragleave", "drop"]) {
    $("#drop").addEventListener(kind, (event) => {
      event.preventDefault();
      $("#drop").classList.toggle("over", kind === "dragover");
      if (kind === "drop" && event.dataTransfer.files.length) {
        field.files = event.dataTransfer.files;
        say($("#giving"), `${field.files[0].name} is chosen.`);
        field.focus();
      }
    });
  }
  form.addEventListener("submit", () => { say($("#giving"), "Sending the sheet…"); });
}

if (run) follow();
if ($("#give")) giving($("#give"));
// What went wrong first, then what came of the last correction, then the row that is corrected.
const first = $("#trouble") || $("#said") || $("#editing");
if (first) { first.scrollIntoView({ block: "center" }); first.focus({ preventScroll: true }); }

const form = $("#row-form");
if (form) {
  const begun = new URLSearchParams(new FormData(form)).toString();
  form.addEventListener("submit", () => { sending = true; });
  addEventListener("beforeunload", (event) => {
    if (!sending && new URLSearchParams(new FormData(form)).toString() !== begun) event.preventDefault();
  });
}
