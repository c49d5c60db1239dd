// Gives a sheet in and follows its run.

import { $, make, say } from "./dom.js";

const LOOK = 700;

async function give(event) {
  event.preventDefault();
  const form = event.target;
  $("#trouble").replaceChildren();
  say($("#giving"), "Sending the sheet…");
  try {
    const answer = await fetch("/v1/bulk-runs", { method: "POST", body: new FormData(form), headers: { Accept: "application/json" } });
    const told = await answer.json();
    if (!answer.ok) throw new Error([told.detail || told.title, ...(told.errors || []).map((each) => each.detail)].join(" "));
    location.assign(`/sheets/${told.id}`);
  } catch (error) {
    say($("#giving"), "");
    $("#trouble").replaceChildren(make("div", { class: "fault" }, make("strong", {}, "Not begun. "), error.message));
  }
}

async function follow(run) {
  try {
    const told = await (await fetch(`/v1/bulk-runs/${run}`)).json();
    if (told.state === "done" || told.state === "failed") { location.reload(); return; }
    $("#far").max = told.letters || 1;
    $("#far").value = told.letters - told.waiting;
    say($("#state"), `${told.letters - told.waiting} of ${told.letters} letters made; ${told.queried} with queries, ${told.refused} refused.`);
  } catch { say($("#state"), "The service does not answer; the run goes on, and this page looks again."); }
  setTimeout(follow, LOOK, run);
}

const run = $("[data-run]")?.dataset.run;
if (run) follow(run);
else $("#give").addEventListener("submit", give);
