// All runs of a round: one field a card, and the one question that needs an answer.

import { prompt } from "/assets/prompt.js";
import { bar, by, inside, listen, put, rows, say, show } from "/assets/source.js";

function card() {
  return by("card").content.firstElementChild.cloneNode(true);
}

function figure(place, told) {
  put(place.querySelector(".value"), told.value);
  put(place.querySelector(".unit"), told.unit);
  bar(place.querySelector("progress"), told.share);
  put(place.querySelector(".line"), told.lines[0] ?? "");
  place.classList.toggle("alarm", told.alarm);
}

function fill(line, told) {
  const part = (name) => line.querySelector(name);
  const saying = (name, text) => { put(part(name), text); show(part(name), text !== ""); };
  line.dataset.kind = told.word.kind;
  put(part(".name"), told.name);
  inside(part(".name"), "/", { record: told.record });
  put(part(".address"), told.address);
  saying(".simulated", told.banner);
  put(part(".mark"), told.word.text);
  saying(".waits", told.waits);
  put(part(".stage-title"), told.stage.title);
  put(part(".left"), told.left);
  bar(part(".stage-share"), told.stage.share);
  figure(part(".temperature"), told.temperature);
  figure(part(".power"), told.power);
  saying(".problem", told.problem);
}

function tell(state) {
  put(by("count"), state.count);
  say("nothing", state.nothing);
  say("banner", state.banner);
  by("cards").dataset.count = state.cards.length > 4 ? "many" : String(state.cards.length);
  rows(by("cards"), state.cards, card, fill);
  prompt(state.prompt, state.prompt === null ? "" : state.prompt.run);
  say("more-prompts", state.more_prompts);
}

listen("/round/events", {}, { round: tell });
