// The pages of a letter as pictures: asked for until they are made.

import { $, make, plural, say } from "./dom.js";

const AGAIN = 400;
const TRIES = 150;
const place = $("#pages");

async function look(tries) {
  try {
    const answer = await fetch(place.dataset.pages, { headers: { Accept: "application/json" } });
    const told = await answer.json();
    if (!answer.ok) throw new Error(told.detail || told.title);
    if (told.state === "ready") {
      $("#pages-said").textContent = told.said;
      place.replaceChildren(...told.pages.map((each) => make("li", {}, make("img", { ...each, decoding: "async" }))));
      place.dataset.how = told.how;
      say($("#pages-state"), plural(told.pages.length, "page", "pages"));
      return;
    }
    if (!tries) throw new Error("It takes too long. Load this page again.");
    setTimeout(look, AGAIN, tries - 1);
  } catch (error) { say($("#pages-state"), `The pages cannot be shown. ${error.message}`); }
}

look(TRIES);
